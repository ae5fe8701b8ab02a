"""The gardener's words for what a lot is, and for what became of its seed."""

from seedbank.common.catalogue import choice_words
from seedbank.lots.forms import MovementKind
from seedbank.lots.tables.ledger import MovementReason
from seedbank.lots.tables.lots import Isolation, Origin, Purity, SeedForm


def origins() -> dict[str, str]:
    """Where a lot is from."""
    return choice_words("origin", Origin)


def isolations() -> dict[str, str]:
    """What kept a lot's seed parents from crossing."""
    return choice_words("isolation", Isolation)


def purities() -> dict[str, str]:
    """Whether a lot may have crossed."""
    return choice_words("purity", Purity)


def seed_forms() -> dict[str, str]:
    """What was done to seed before it was sold."""
    return choice_words("seed-form", SeedForm)


def moved() -> dict[str, str]:
    """What became of seed."""
    return choice_words("moved", MovementReason)


def received() -> dict[str, str]:
    """How seed came in."""
    return choice_words("received", (MovementKind.ACQUIRED, MovementKind.HARVESTED))
