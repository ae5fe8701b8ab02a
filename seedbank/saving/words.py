"""Words of the season's forms: how a gardener says what the collection keeps as one word."""

from seedbank.common.catalogue import choice_words
from seedbank.kinds.tables import Breeding, OtherKeepers
from seedbank.lots import words as lot_words
from seedbank.lots.tables.lots import Isolation
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.sowing import words as bench_words


def isolations() -> dict[str, str]:
    """How a seed crop is to be kept from crossing."""
    return lot_words.isolations() | choice_words("isolation-to-come", [Isolation.UNKNOWN])


def purposes() -> dict[str, str]:
    """What the seed is for."""
    return choice_words("purpose", Purpose)


def keepers() -> dict[str, str]:
    """Who else keeps a variety."""
    return choice_words("other-keepers", OtherKeepers)


def breeding() -> dict[str, str]:
    """How a variety was bred."""
    return choice_words("breeding", Breeding)


protections = bench_words.protections
methods = bench_words.methods
