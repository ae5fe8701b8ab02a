"""The gardener's words for what tests and sowings are kept by."""

from seedbank.germination.tables import Pretreatment, Substratum
from seedbank.sowing.tables import LossCause, Protection, SowingMethod

SUBSTRATA = {
    Substratum.PAPER_TOWEL: "paper towel",
    Substratum.BLOTTER: "blotter or filter paper",
    Substratum.SAND: "sand",
    Substratum.COMPOST: "compost",
    Substratum.OTHER: "something else",
}
PRETREATMENTS = {
    Pretreatment.NONE: "nothing",
    Pretreatment.PRECHILL: "chilled moist",
    Pretreatment.LIGHT: "given light",
    Pretreatment.SCARIFY: "nicked or rubbed",
    Pretreatment.SOAK: "soaked",
}
METHODS = {
    SowingMethod.ROW: "in a row",
    SowingMethod.STATION: "at stations, a few seeds each",
    SowingMethod.MODULE: "in cells of a tray",
    SowingMethod.BROADCAST: "scattered over a bed",
}
PROTECTIONS = {
    Protection.OPEN: "open ground",
    Protection.FLEECE: "under fleece",
    Protection.COLD_FRAME: "in a cold frame",
    Protection.TUNNEL: "in a tunnel or greenhouse",
    Protection.INDOORS: "indoors",
}
LOSSES = {
    LossCause.EATEN: "eaten: mice, birds, slugs",
    LossCause.FROST: "cold or frost",
    LossCause.DRIED_OUT: "dried out",
    LossCause.NOT_EMERGED: "just did not come up",
}


def choices(words: dict[object, str]) -> list[tuple[str, str]]:
    """Pairs of value and word for a field to choose from."""
    return [(str(value), word) for value, word in words.items()]
