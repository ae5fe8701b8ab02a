"""Writing the passport of a lot given away: its tests, age, store and parents go with it."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from pydantic import BaseModel, ValidationError
from sqlmodel import Session, SQLModel

from seedbank.common.errors import Conflict
from seedbank.database.find import row_id
from seedbank.facts.cautions import Situation
from seedbank.germination.tables import GerminationTest, counts, totals
from seedbank.interchange.filled_forms import errors_of
from seedbank.interchange.passport.forms import (
    FORMAT,
    VERSION,
    Passport,
    PassportAncestor,
    PassportCount,
    PassportPlace,
    PassportStay,
    PassportTest,
    sealed,
)
from seedbank.interchange.passport.queries import finished_tests
from seedbank.kinds.edit_kinds import facts_for
from seedbank.lots.show_lots import lot_cautions, lot_entries, lot_entry
from seedbank.lots.tables.lot_search import LotEntry
from seedbank.lots.tables.lots import Lot, age_years, find_lot, parents
from seedbank.lots.tables.mixtures import parts_of
from seedbank.lots.tables.places import StayEntry, stays

_GENERATIONS = 5
_MOST_ANCESTORS = 200


def write_passport(
    session: Session,
    code: str,
    *,
    seeds: int | None,
    seeds_se: float = 0.0,
    keeper: str = "",
    today: date,
) -> Passport:
    """The passport for ``seeds`` of a lot (None: some, not counted), given today.

    It books nothing: that is a movement's.

    Donors, notes and open tests stay at home. Raises MisreadCode, NotThere, Conflict: something
    on record that a passport can't tell.
    """
    lot = find_lot(session, code)
    if parts_of(session, [row_id(lot.id)]):
        raise Conflict("mixture-no-passport", "code", lot.code)
    entry = lot_entry(session, lot)
    history = stays(session, [row_id(lot.id)])[row_id(lot.id)]
    there = [one for one in history if one.stay.from_date <= today]
    tests = finished_tests(session, row_id(lot.id), until=today)
    age = age_years(lot, today)
    facts = facts_for(session, entry.kind)
    parts = {
        "format": FORMAT,
        "version": VERSION,
        "keeper": keeper,
        "given_on": today,
        "given_seeds": seeds,
        "given_seeds_se": seeds_se,
        "variety": {
            "name": entry.variety.name,
            "kind": entry.kind.slug,
            "kind_name": entry.kind.name,
            "botanical": facts.botanical.value if facts.botanical else "",
            "breeding": entry.variety.breeding,
        },
        "age_years_least": None if age is None else round(age[0], 2),
        "age_years_greatest": None if age is None else round(age[1], 2),
        "first_seen_on": min(today, _first_seen(lot, there, tests)),
        "stays": [_stay(one) for one in there],
        "tests": _tests(session, tests),
        "ancestors": list(_ancestors(session, lot)),
        "cautions": [
            {
                "text": caution.text,
                "who_decides": caution.who_decides,
                "source": caution.source.text,
                "confidence": caution.source.confidence,
            }
            for caution in lot_cautions(lot, facts, (Situation.MOVING, Situation.SELLING))
        ],
    }
    return _sealed(_as_it_is(lot, Passport) | parts)  # a row has a version of its own


def _sealed(parts: dict[str, Any]) -> Passport:
    try:
        return sealed(parts)
    except ValidationError as wrong:
        first = errors_of(wrong)[0]
        raise Conflict("passport-cannot-tell", first.field, first.value, mend=first.mend) from wrong


def _first_seen(lot: Lot, there: list[StayEntry], tests: list[GerminationTest]) -> date:
    """The first day the lot is on record as seed: got, written down, put somewhere or tested."""
    days = [lot.created_at.date(), *(one.stay.from_date for one in there)]
    days += [test.started_on for test in tests]
    return min([*days, lot.acquired_on] if lot.acquired_on else days)


def _stay(entry: StayEntry) -> dict[str, Any]:
    place = _as_it_is(entry.place, PassportPlace)
    return {**_as_it_is(entry.stay, PassportStay), "place": place}


def _as_it_is(row: SQLModel, form: type[BaseModel]) -> dict[str, Any]:
    """What a part of the passport tells of a row in the same words."""
    return row.model_dump(include=set(form.model_fields))


def _tests(session: Session, tests: list[GerminationTest]) -> list[dict[str, Any]]:
    numbers = [row_id(test.id) for test in tests]
    counted = counts(session, numbers)
    replicates = totals(session, numbers)
    shown = []
    for test, number in zip(tests, numbers, strict=True):
        rows = _as_it_is(test, PassportTest)
        rows["replicates"] = [
            {
                "seeds_set": one.seeds_set,
                "counts": [
                    _as_it_is(count, PassportCount)
                    for count in counted[number]
                    if count.replicate_id == one.replicate_id
                ],
            }
            for one in replicates[number]
        ]
        shown.append(rows)
    return shown


def _ancestors(session: Session, lot: Lot) -> Iterable[dict[str, Any]]:
    """The lot's parents, their parents and so on, nearest first."""
    codes = {row_id(lot.id): lot.code}
    generation, count = [row_id(lot.id)], 0
    for _ in range(_GENERATIONS):
        links = parents(session, generation)
        entries = lot_entries(session, {parent for line in links.values() for parent in line})
        generation = [number for number in entries if number not in codes]
        codes |= {number: entry.lot.code for number, entry in entries.items()}
        for child, line in links.items():
            for parent in line:
                if count < _MOST_ANCESTORS:
                    yield _ancestor(entries[parent], codes[child])
                count += 1


def _ancestor(entry: LotEntry, child: str) -> dict[str, Any]:
    facts = {"child": child, "variety": entry.variety.name, "kind": entry.kind.slug}
    return facts | _as_it_is(entry.lot, PassportAncestor)
