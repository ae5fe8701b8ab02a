"""The gardener's words for what a lot is, and for what became of its seed."""

from seedbank.lots.forms import MovementKind
from seedbank.lots.tables.ledger import MovementReason
from seedbank.lots.tables.lots import Isolation, Origin

ORIGINS = {
    Origin.BOUGHT: "bought",
    Origin.SWAPPED: "swapped",
    Origin.GIFT: "a gift",
    Origin.SELF_SAVED: "saved here",
    Origin.COLLECTED: "gathered",
}
ISOLATIONS = {
    Isolation.UNKNOWN: "not known",
    Isolation.NONE: "nothing",
    Isolation.DISTANCE: "distance",
    Isolation.TIME: "flowering at another time",
    Isolation.CAGE: "a cage",
    Isolation.BAG: "bags over the flowers",
    Isolation.HAND_POLLINATION: "pollinating by hand",
    Isolation.ONLY_VARIETY: "no other variety in flower",
}
PURITIES = {
    "unknown": "not known whether it crossed",
    "isolated": "kept from crossing",
    "risk": "may have crossed",
}
MOVED = {
    MovementReason.ACQUIRED: "came in",
    MovementReason.HARVESTED: "harvested",
    MovementReason.TESTED: "taken for a test",
    MovementReason.SOWN: "sown",
    MovementReason.GIVEN: "given away",
    MovementReason.DISCARDED: "thrown out",
    MovementReason.STOCK_TAKE: "counted",
}
RECEIVED = {
    MovementKind.ACQUIRED: "It came from elsewhere",
    MovementKind.HARVESTED: "It was harvested here",
}
