"""What a person should be warned of for a kind, a lot or a job at hand."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from seedbank.facts import loaders
from seedbank.facts.sources import Confidence
from seedbank.facts.tables import parts

QUALIFIED_PEOPLE = "qualified-people-decide"
LOCAL_RULES = "local-rules-decide"


class Situation(StrEnum):
    """A job at hand that has cautions of its own."""

    TESTING = "testing"
    HOT_WATER = "hot water"
    DRYING = "drying"
    MOVING = "moving"
    SELLING = "selling"


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning as the table gives it; ``deference`` is the code of who decides, empty if
    nobody need.
    """

    topic: str
    text: str
    source: str
    confidence: Confidence
    deference: str


_SITUATIONS: dict[Situation, tuple[str, ...]] = {
    Situation.TESTING: ("sprouting seed", "germination test mould", "mould and dust exposure"),
    Situation.HOT_WATER: (
        "hot-water treatment",
        "hot-water treatment storage",
        "hot-water treatment values",
    ),
    Situation.DRYING: (
        "silica gel indicator",
        "desiccant over-drying",
        "seed drying heat",
        "freezing seed",
    ),
    Situation.MOVING: (
        "moving seed: United States",
        "moving seed: United States packet limits",
        "moving seed: Great Britain",
        "moving seed: European Union",
    ),
    Situation.SELLING: (
        "selling unregistered varieties: UK",
        "heritage seed library seed",
        "protected varieties",
    ),
}
_LEGUMES, _OF_LEGUMES = "Fabaceae", "desiccant over-drying"
_TREATED = ("treated seed", "treated seed handling")
_SHORT_LIVED = "pelleted or primed seed"
_KEEPS_BADLY = Caution(
    _SHORT_LIVED,
    "Pelleted and primed seed doesn't keep: sow it in the season it was packed for, keep what is "
    "left dry and closed, and don't soak it",
    "Common practice, no single source",
    Confidence.MEMORY,
    "",
)
"""Of our own: no table published to us has it."""
_POISONOUS_AT_LARGE = "other poisonous garden seed"
_LOCAL = frozenset(_SITUATIONS[Situation.MOVING] + _SITUATIONS[Situation.SELLING])
_QUALIFIED = frozenset(
    (
        "raw kidney and runner bean",
        "broad bean",
        "broad bean favism",
        "foxglove",
        "foxglove and borage seedlings",
        "sweet pea",
        "castor bean",
        "lupin (ornamental)",
        "laburnum",
        _POISONOUS_AT_LARGE,
        "potato and tomato-family green parts",
        "cucurbit bitterness",
        "apiaceae look-alikes",
        "parsnip sap",
        "mould and dust exposure",
        *_TREATED,
    )
)


def cautions_for(
    slug: str,
    *,
    treated: bool,
    saved_here: bool,
    situations: tuple[Situation, ...] = (),
    poisonous: bool | None = None,
    short_lived: bool = False,
) -> tuple[Caution, ...]:
    """Cautions for a lot of a kind, the gravest first, each once.

    ``saved_here`` adds what concerns seed saved in the garden (bitter cucurbits, parsnip sap,
    seed-borne disease). ``poisonous`` is the gardener's own word for a kind of their own: True
    adds the caution on poisonous garden seed; ``short_lived``, of pelleted and primed seed, that on
    keeping it. A slug that isn't packaged has no topics of its
    own. Raises ``KeyError`` if the table lacks a topic, which a test rules out.
    """
    topics = [*_TREATED] if treated else []
    family = ""
    for kind in loaders.kinds():
        if kind.slug == slug:
            family = kind.family
            topics += parts(kind.caution_topics)
    if poisonous:
        topics.append(_POISONOUS_AT_LARGE)
    if short_lived:
        topics.append(_SHORT_LIVED)
    if saved_here:
        topics += _saving_topics(slug, family)
    for situation in situations:
        topics += _SITUATIONS[situation]
    if family not in ("", _LEGUMES):
        topics = [topic for topic in topics if topic != _OF_LEGUMES]
    table = all_cautions()
    return tuple(table[topic] for topic in dict.fromkeys(topics))


def _saving_topics(slug: str, family: str) -> list[str]:
    topics = ["seed-borne disease"]
    if family == "Cucurbitaceae":
        topics.insert(0, "cucurbit bitterness")
    if slug == "parsnip":
        topics.insert(0, "parsnip sap")
    return topics


@cache
def all_cautions() -> Mapping[str, Caution]:
    """Every caution by its topic."""
    published = [
        Caution(
            row.topic, row.caution, row.source.text, row.source.confidence, _deference(row.topic)
        )
        for row in loaders.cautions()
    ]
    return {one.topic: one for one in (*published, _KEEPS_BADLY)}


def _deference(topic: str) -> str:
    if topic in _LOCAL:
        return LOCAL_RULES
    return QUALIFIED_PEOPLE if topic in _QUALIFIED else ""
