"""The gardener's words for what a germination test is kept by, each by its value."""

from seedbank.common.catalogue import choice_words
from seedbank.germination.tables import Pretreatment, Substratum, TestFault
from seedbank.science.germination.germination import SeedClass


def seed_classes() -> dict[str, str]:
    return choice_words("seed-class", SeedClass)


def substrata() -> dict[str, str]:
    return choice_words("test-substratum", Substratum)


def test_faults() -> dict[str, str]:
    return choice_words("test-fault", TestFault)


def pretreatments() -> dict[str, str]:
    return choice_words("test-pretreatment", Pretreatment)
