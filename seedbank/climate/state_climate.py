"""Telling of the garden's climate: typed, or from daily readings."""

import csv
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from io import StringIO

import numpy as np
from sqlmodel import Session

from seedbank.climate.answers import ClimateAnswer
from seedbank.climate.forms import ClimateStated, ClimateTyped, ReadingsSent
from seedbank.climate.garden_year import year_of
from seedbank.climate.tables import GardenClimate, Known, all_climates, climate_row
from seedbank.common.answers import FindingAnswer
from seedbank.common.errors import Refused
from seedbank.database.transaction import claim_version, transaction
from seedbank.science.quantities import Finding
from seedbank.science.season.climate import YEAR, Climate, fit_climate, frost_span, soil_c
from seedbank.science.season.readings import (
    ENOUGH_DAYS,
    ClimateRead,
    DayRead,
    climate_from_readings,
)
from seedbank.science.season.sowing_windows import day_of_year
from seedbank.science.season.window_state import day_number

_DEPTH_CM = 5.0


def show_climate(session: Session, site_id: int | None = None) -> ClimateAnswer:
    """The climate that holds at a site, or in the garden; of nothing told, that."""
    rows = all_climates(session)
    own = rows.get(site_id)
    if own is None or (site_id is not None and own.tells_nothing):
        garden = rows.get(None) or GardenClimate(id=1)
        version = own.version if own is not None else 1
        return _answer(garden, site_id, own=site_id is None and None in rows, version=version)
    return _answer(own, site_id, own=True, version=own.version)


def state_climate(
    session: Session,
    form: ClimateStated,
    *,
    site_id: int | None,
    expected: Collection[int] | None,
) -> ClimateAnswer:
    """Tell of a climate, in place of what was told before. Raises StaleVersion."""
    with transaction(session):
        return _state(session, form, site_id, expected)


def type_climate(
    session: Session,
    form: ClimateTyped,
    *,
    site_id: int | None,
    expected: Collection[int] | None,
) -> ClimateAnswer:
    """Tell of a climate as it is typed. Raises StaleVersion, Refused: not twelve temperatures."""
    told = all_climates(session).get(site_id)
    frost = [
        None if day is None else day_number(day) for day in (form.last_frost, form.first_frost)
    ]
    stated = ClimateStated(
        monthly_c=_typed_months(form.months),
        last_frost_day=frost[0],
        first_frost_day=frost[1],
        hemisphere=form.hemisphere,
        soil_shift_c=0.0 if told is None else told.soil_shift_c,
        source=form.source,
    )
    return state_climate(session, stated, site_id=site_id, expected=expected)


def _typed_months(text: str) -> list[float] | None:
    words = text.replace(";", " ").split()
    if not words:
        return None
    try:
        found = [float(word.replace(",", ".")) for word in words]
    except ValueError:
        found = []
    if len(found) != 12 or not all(-60.0 <= one <= 60.0 for one in found):
        raise Refused("months-misread", "months", text)
    return found


def read_climate(
    session: Session,
    form: ReadingsSent,
    *,
    site_id: int | None,
    expected: Collection[int] | None,
) -> ClimateAnswer:
    """Tell of a climate by daily readings: months that were read go before those told.

    Raises StaleVersion, Refused: a line can't be read, or months are missing that nobody told.
    """
    readings, soil = _readings(form.csv)
    read = climate_from_readings(readings)
    with transaction(session):
        before = all_climates(session).get(site_id)
        told = _merged(read, before, form, soil)
        return _state(session, told, site_id, expected)


def _state(
    session: Session, form: ClimateStated, site_id: int | None, expected: Collection[int] | None
) -> ClimateAnswer:
    row = climate_row(session, site_id)
    claim_version(session, row, what="climate", expected=expected)
    for name, value in form.model_dump().items():
        setattr(row, name, value)
    session.add(row)
    session.flush()
    return show_climate(session, site_id)


def _merged(
    read: ClimateRead,
    before: GardenClimate | None,
    form: ReadingsSent,
    soil: list[tuple[date, float, float]],
) -> ClimateStated:
    known = before.monthly_c if before is not None and before.monthly_c else [None] * 12
    months = [b if a is None else a for a, b in zip(read.monthly_c, known, strict=True)]
    missing = [n for n, one in enumerate(months, 1) if one is None]
    if missing:
        told = {"enough_days": ENOUGH_DAYS, "months": len(missing)}
        raise Refused("months-not-read", "csv", missing[0], **told)
    monthly = [round(one, 2) for one in months if one is not None]
    last, first = read.last_frost, read.first_frost
    if before is not None:
        last = before.last_frost_day if last is None else last
        first = before.first_frost_day if first is None else first
    climate = fit_climate(monthly, last, first)
    return ClimateStated(
        monthly_c=monthly,
        last_frost_day=last,
        first_frost_day=first,
        hemisphere=before.hemisphere if before is not None else None,
        soil_shift_c=_soil_shift(climate, soil, 0.0 if before is None else before.soil_shift_c),
        source=form.source or (before.source if before is not None else ""),
    )


def _soil_shift(climate: Climate, soil: list[tuple[date, float, float]], told: float) -> float:
    """Mean of what was measured over what is reckoned, °C; as told before where none was."""
    if not soil:
        return told
    bare = replace(climate, soil_shift_c=0.0)
    over = [warm - soil_c(bare, cm / 100.0)[day_number(on) - 1] for on, cm, warm in soil]
    return round(float(np.clip(np.mean(over), -10.0, 10.0)), 2)


def _readings(text: str) -> tuple[list[DayRead], list[tuple[date, float, float]]]:
    lines = csv.DictReader(StringIO(text.lstrip("\ufeff")))
    days: list[DayRead] = []
    soil: list[tuple[date, float, float]] = []
    for number, row in enumerate(lines, 2):
        with _noting(number):
            on = date.fromisoformat((row.get("date") or "").strip())
            mean, low, high = (_number(row, name) for name in ("mean_c", "min_c", "max_c"))
            if mean is None and low is not None and high is not None:
                mean = (low + high) / 2.0
            if mean is not None:
                days.append(DayRead(on, mean, low))
            warm = _number(row, "soil_c")
            if warm is not None:
                depth = _number(row, "soil_depth_cm")
                soil.append((on, _DEPTH_CM if depth is None else depth, warm))
    if not days:
        raise Refused("no-readings", "csv", text[:40])
    return days, soil


@contextmanager
def _noting(line: int) -> Iterator[None]:
    """Says which line can't be read."""
    try:
        yield
    except ValueError as problem:
        raise Refused("reading-misread", "csv", line, line=line) from problem


def _number(row: dict[str, str | None], name: str) -> float | None:
    """A cell in degrees or centimetres; None: empty. Raises ValueError: none that can be."""
    cell = (row.get(name) or "").strip()
    if not cell:
        return None
    value = float(cell)
    if not -60.0 <= value <= 100.0:
        raise ValueError(cell)
    return value


def _answer(row: GardenClimate, site_id: int | None, *, own: bool, version: int) -> ClimateAnswer:
    year = year_of(row)
    remarks = [Finding("climate-known", {"known": year.known})]
    if year.climate is not None and (row.last_frost_day is None or row.first_frost_day is None):
        span = frost_span(year.climate)
        if span is None:
            remarks.append(Finding("frost-never"))
        elif span[0] < span[1]:
            last, first = (day_of_year(year.climate, min(d, YEAR)) for d in span)
            days = {"last_frost_day": last, "first_frost_day": first}
            remarks.append(Finding("frost-reckoned", days))
    if site_id is not None and not own and year.known is not Known.NOTHING:
        remarks.append(Finding("climate-of-garden"))
    return ClimateAnswer(
        **row.model_dump(exclude={"id", "site_id", "version"}),
        site_id=site_id,
        own=own,
        known=year.known,
        remarks=[FindingAnswer.of(one) for one in remarks],
        version=version,
    )
