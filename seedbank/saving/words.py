"""Words of the season's forms: how a gardener says what the collection keeps as one word."""

from seedbank.kinds.tables import Breeding, OtherKeepers
from seedbank.lots import words as lot_words
from seedbank.lots.tables.lots import Isolation
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.verdicts.verdict import Verdict
from seedbank.sowing import words as bench_words

LISTS = {
    Verdict.RESCUE: "Lots to rescue",
    Verdict.SAVE_SEED: "Lots to save seed from",
    Verdict.TEST: "Lots to test",
    Verdict.KEEP: "Lots to keep as they are",
    Verdict.REPLACE: "Lots to replace",
    Verdict.DISCARD: "Lots that can go",
}
ISOLATIONS = tuple({**lot_words.ISOLATIONS, Isolation.UNKNOWN: "not decided yet"}.items())
PURPOSES = (
    (Purpose.HOME, "seed for my own use"),
    (Purpose.KEEP, "keeping the variety going"),
    (Purpose.RARE, "keeping a rare variety"),
)
KEEPERS = (
    (OtherKeepers.NONE, "nobody else"),
    (OtherKeepers.FEW, "few others"),
    (OtherKeepers.MANY, "many others"),
)
BREEDING = {
    Breeding.OPEN_POLLINATED: "open-pollinated: comes true from its own seed",
    Breeding.LANDRACE: "a landrace: comes true as the mixture it is",
    Breeding.F1: "an F1 hybrid: its seed does not come true",
    Breeding.UNKNOWN: "nobody knows how it was bred",
}
PROTECTIONS = tuple(bench_words.PROTECTIONS.items())
METHODS = tuple(bench_words.METHODS.items())
