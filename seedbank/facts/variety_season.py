"""When a variety is for, among those of its kind."""

from enum import StrEnum


class VarietySeason(StrEnum):
    """Early varieties crop soonest after sowing; winter ones take longest."""

    EARLY = "early"
    SUMMER = "summer"
    WINTER = "winter"
