"""Words of the season's forms: how a gardener says what the collection keeps as one word."""

from seedbank.science.crossing_risk import Purpose
from seedbank.science.verdict import Verdict
from seedbank.stock.lots import Isolation
from seedbank.stock.sowings import Protection, SowingMethod
from seedbank.stock.varieties import Breeding, OtherKeepers

VERDICTS = {
    Verdict.RESCUE: "Rescue: sow all you can, now",
    Verdict.SAVE_SEED: "Save seed this year",
    Verdict.TEST: "Test first",
    Verdict.KEEP: "Keep as they are",
    Verdict.REPLACE: "Replace with fresh seed",
    Verdict.DISCARD: "Not worth the space: discard",
}
ISOLATIONS = (
    (Isolation.UNKNOWN, "not decided yet"),
    (Isolation.DISTANCE, "distance from others"),
    (Isolation.TIME, "flowering at another time"),
    (Isolation.CAGE, "a cage"),
    (Isolation.BAG, "bags over the flowers"),
    (Isolation.HAND_POLLINATION, "pollinating by hand"),
    (Isolation.ONLY_VARIETY, "no other variety in flower"),
    (Isolation.NONE, "nothing"),
)
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
PROTECTIONS = tuple((one, one.value.replace("-", " ")) for one in Protection)
METHODS = tuple((one, one.value.replace("-", " ")) for one in SowingMethod)
