"""The gardener's words for what is kept of a kind, and for facts about kinds."""

from seedbank.common.catalogue import choice_words
from seedbank.facts.kinds import KeptAs
from seedbank.facts.variety_season import VarietySeason
from seedbank.kinds.tables import FactName

ANSWERED_APART = (FactName.KEPT_AS, FactName.KEEPS_YEARS, FactName.POISONOUS)
"""The three questions every new kind is asked."""


def kept_as() -> dict[str, str]:
    """What is kept of a kind from year to year."""
    return choice_words("kept-as", KeptAs)


def seasons() -> dict[str, str]:
    """What season a variety is for among those of its kind."""
    return choice_words("variety-season", VarietySeason)


def more_facts() -> dict[str, str]:
    """What else may be said of a kind."""
    return choice_words("fact", [name for name in FactName if name not in ANSWERED_APART])
