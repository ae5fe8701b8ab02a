"""The gardener's words for what sowings are kept by, each by its value."""

from seedbank.common.catalogue import choice_words
from seedbank.emergence.tables import LossCause, Protection, SowingMethod


def methods() -> dict[str, str]:
    return choice_words("sowing-method", SowingMethod)


def protections() -> dict[str, str]:
    return choice_words("sowing-protection", Protection)


def losses() -> dict[str, str]:
    return choice_words("sowing-loss", LossCause)
