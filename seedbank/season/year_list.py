"""This year as a list: a row a crop, the same beside the picture and on a terminal."""

from collections.abc import Sequence

from seedbank.climate.answers import SpanAnswer
from seedbank.common.catalogue import text_of
from seedbank.common.local_format import Local
from seedbank.common.safe_text import plain_text
from seedbank.science.quantities import Finding
from seedbank.science.season.window_state import date_of
from seedbank.season.answers import CropLineAnswer

YEAR_COLUMNS = ("crop", "sow", "crop-ready", "keep-apart", "ripe")
"""What the cells of a row are."""


def crop_name(one: CropLineAnswer, local: Local) -> str:
    """What a line is of: its kind, of early or winter varieties by that."""
    named = {"kind": plain_text(one.kind_name), "season": one.season or "none"}
    return text_of(Finding("season-crop", named), local)


def year_row(one: CropLineAnswer, year: int, local: Local) -> tuple[str, ...]:
    """One line in words."""
    names = ", ".join(plain_text(name) for name in one.varieties)
    return (
        f"{crop_name(one, local)} ({names})",
        _spans(one.sow, year, local),
        _spans([one.eat], year, local),
        _spans([one.keep_apart], year, local),
        _spans([one.ripe], year, local),
    )


def _spans(spans: Sequence[SpanAnswer | None], year: int, local: Local) -> str:
    return ", ".join(_told(one, year, local) for one in spans if one is not None)


def _told(one: SpanAnswer, year: int, local: Local) -> str:
    if one.from_day == one.to_day:
        return _day(one.from_day, year, local)
    days = {"from_day": one.from_day, "to_day": one.to_day}
    return text_of(Finding("season-span", days), local)


def _day(day: int, year: int, local: Local) -> str:
    return local.day_and_month(date_of(day, year))
