"""The same odd lots by every way in: the same rows come of them, and the same are refused.

Each way can tell some of a lot's fields; what it can't tell is left out for the form as well.
"""

import csv
import io
import random
from collections.abc import Callable, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError
from sqlmodel import col, select

from seedbank.common.catalogue import text_of
from seedbank.common.errors import StockFault
from seedbank.database.find import row_id
from seedbank.interchange.filled_forms import errors_of
from seedbank.interchange.folder.columns import specs_of
from seedbank.interchange.folder.files import ImportProblem, ImportRefused
from seedbank.interchange.folder.guard import ArchiveRefused
from seedbank.interchange.folder.import_archive import import_archive
from seedbank.interchange.folder.import_collection import import_collection
from seedbank.interchange.passport.forms import PassportArrival, sealed
from seedbank.interchange.passport.take_in_passport import take_in_passport
from seedbank.interchange.passport.write_passport import write_passport
from seedbank.interchange.spreadsheet.answers import Spreadsheet, SpreadsheetConfirmed
from seedbank.interchange.spreadsheet.take_in_spreadsheet import (
    preview_spreadsheet,
    take_in_spreadsheet,
)
from seedbank.lots.forms import LotCreate, PacketCreate
from seedbank.lots.tables.ledger import balance
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.lots.take_in_lots import take_in_lot
from seedbank.lots.take_in_packet import take_in_packet
from seedbank.upkeep.checks.check_rules import check_rules
from seedbank.upkeep.checks.rows import check_counts
from tests.sizes import sized
from tests.use_cases.conftest import Garden
from tests.use_cases.interchange.archives import archive_of, changed
from tests.use_cases.interchange.test_import_archive import empty

ODD = sized(150, 300)
Told = dict[str, Any]
Came = Told | str  # the row, or the sentence it is refused with
TODAY = date(2027, 3, 1)
WEIGHTS = (0.0, 1e-9, 1.35, 99_999.0, 100_000.0, 100_001.0, 500_000.0, -1.0, 3)
DAY = timedelta(days=1)


def odd_lot(dice: random.Random) -> Told:
    """One lot, mostly plain, some of its fields at the edge of what can be or over it."""
    near = date(2020, 1, 1) + DAY * dice.choice((-400, -1, 0, 1, 200, 364, 365, 366))

    def one(plain: Any, *odd: Any) -> Any:
        return dice.choice(odd) if dice.random() < 0.15 else plain

    day = one(None, near, near, date(2027, 3, 2))
    year = one(near.year if day is not None else 2019, 1799, 1800, 2020, 2027, 2028, 2201)
    return {
        "origin": dice.choice(("bought", "gift", "self-saved")),
        "harvest_year": dice.choice((None, year)),
        "harvest_date": day,
        "harvest_estimated": dice.random() < 0.3,
        "acquired_on": one(near + 400 * DAY, None, near, near - DAY, TODAY, TODAY + DAY),
        "thousand_seed_weight_g": one(dice.choice((None, 1.35)), *WEIGHTS),
        "thousand_seed_weight_se_g": one(None, *WEIGHTS),
        "seed_parents": one(None, 0, 1, 24, 10_000_000, 10_000_001, -1),
        "generation": one(None, 0, 3, 1000, 1001),
        "amount": dice.choice((None, 0, 1, 250, 10_000_000)),
        "donor": one("Orla at number 9", "", "d" * 200, "d" * 201),
        "notes": dice.choice(("", "small heads", "n" * 4000)),
    }


def odd_lots() -> list[Told]:
    dice = random.Random(11)
    return [odd_lot(dice) for _ in range(ODD)]


def only(told: Told, *names: str) -> Told:
    return {name: told[name] for name in names}


def by_form(garden: Garden, told: Told, variety_id: int) -> Came:
    """As the API takes it."""
    amount = told.get("amount")
    body = {name: cell for name, cell in told.items() if name != "amount"} | {
        "variety_id": variety_id,
        "amount": None if amount is None else {"seeds": amount},
    }
    return _tried(
        lambda: take_in_lot(garden.session, LotCreate.model_validate(body), **garden.when).code,
        garden,
        told,
    )


def _tried(take: Callable[[], str], garden: Garden, told: Mapping[str, Any]) -> Came:
    try:
        lot = find_lot(garden.session, take())
    except ValidationError as wrong:
        return errors_of(wrong)[0].mend
    except StockFault as fault:
        return str(fault)
    return _row(garden, lot, told)


def _row(garden: Garden, lot: Lot, told: Mapping[str, Any]) -> Told:
    row: Told = {name: getattr(lot, name) for name in told if name != "amount"}
    if "amount" in told:
        row["amount"] = balance(garden.session, row_id(lot.id)).seeds
    if row.get("harvest_year") is None:
        row.pop("harvest_year", None)
    return row


def agree(form: list[Came], other: list[Came]) -> None:
    """The same rows, and of those refused the form's sentence among what is said."""
    assert len(form) == len(other)
    for one, two in zip(form, other, strict=True):
        if isinstance(one, str):
            assert isinstance(two, str), (one, two)
            assert one.rstrip(".").lower() in two.lower()
        else:
            assert one == two
    assert ODD // 15 < sum(isinstance(one, str) for one in form) < ODD - ODD // 15


def test_by_the_page_for_packets(garden: Garden) -> None:
    variety_id = garden.variety()
    form = [by_form(garden, told, variety_id) for told in odd_lots()]

    def packet(told: Told) -> Came:
        amount = told["amount"]
        sent = {name: cell for name, cell in told.items() if name != "amount"} | {
            "variety": "Invented 1",
            "kind": "carrot",
            "amount": None if amount is None else {"seeds": amount},
        }
        return _tried(
            lambda: (
                take_in_packet(
                    garden.session, PacketCreate.model_validate(sent), **garden.when
                ).code
            ),
            garden,
            told,
        )

    agree(form, [packet(told) for told in odd_lots()])


FOLDER = (
    "origin", "harvest_year", "harvest_date", "harvest_estimated", "acquired_on",
    "thousand_seed_weight_g", "thousand_seed_weight_se_g", "seed_parents", "generation", "donor",
    "notes",
)  # fmt: skip


def _csv(path: Path, rows: list[Told]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows({name: _cell(cell) for name, cell in row.items()} for row in rows)


def _cell(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def _by_line(problems: list[ImportProblem]) -> dict[int, str]:
    told: dict[int, str] = {}
    for one in problems:
        told[one.line] = f"{told.get(one.line, '')} {one.mend}"
    return told


def test_by_a_folder(garden: Garden, tmp_path: Path) -> None:
    variety_id = garden.variety()
    odd = [only(told, *FOLDER) for told in odd_lots()]
    form = [by_form(garden, told, variety_id) for told in odd]
    lines: list[Told] = [
        {"label": f"L{n}", "kind": "carrot", "variety": "Invented 1"} | told
        for n, told in enumerate(odd)
    ]
    _csv(tmp_path / "lots.csv", lines)
    refused: dict[int, str] = {}
    while True:  # cells are told first, what lies between them once they are right
        _csv(tmp_path / "lots.csv", [one for n, one in enumerate(lines) if n not in refused])
        left = [n for n in range(ODD) if n not in refused]
        try:
            import_collection(garden.session, tmp_path, garden.now)
            break
        except ImportRefused as refusal:
            refused |= {left[at - 2]: said for at, said in _by_line(refusal.problems).items()}
    lots = iter(garden.session.exec(select(Lot).order_by(col(Lot.id))).all()[-len(left) :])
    agree(form, [refused.get(n) or _row(garden, next(lots), odd[n]) for n in range(ODD)])


SHEET = ("origin", "harvest_year", "harvest_date", "harvest_estimated", "acquired_on", "amount")
_SAID = {"bought": "bought", "gift": "gift", "self-saved": "own"}


def _for_a_sheet(told: Told) -> Told:
    """What a list can tell: a day or a year, a year alone being a guess."""
    one = only(told, *SHEET)
    if one["harvest_date"] is not None:
        one |= {"harvest_estimated": False, "harvest_year": one["harvest_date"].year}
    if one["harvest_year"] is None:
        one["harvest_estimated"] = False
    if one["harvest_year"] in (1799, 1800, 2201):  # read as no year at all
        one["harvest_year"] = 2019
    return one


def test_by_a_list(garden: Garden) -> None:
    variety_id = garden.variety()
    odd = [_for_a_sheet(told) for told in odd_lots()]
    form = [by_form(garden, told, variety_id) for told in odd]
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(("kind", "variety", "origin", "harvested", "acquired on", "amount", "number"))
    for number, one in enumerate(odd):
        year = "" if one["harvest_year"] is None else str(one["harvest_year"])
        guess = "?" if one["harvest_estimated"] else ""
        writer.writerow(
            (
                "carrot",
                "Invented 1",
                _SAID[one["origin"]],
                _cell(one["harvest_date"]) or year + guess,
                _cell(one["acquired_on"]),
                "" if one["amount"] is None else one["amount"] or "none",
                number,
            )
        )
    sheet = Spreadsheet(text=out.getvalue())
    shown = preview_spreadsheet(garden.session, sheet, today=garden.today)
    wrong = [row.line for row in shown.rows if row.in_the_way]
    again = sheet.model_copy(update={"leave_out": wrong})
    digest = preview_spreadsheet(garden.session, again, today=garden.today).digest
    confirmed = SpreadsheetConfirmed(text=sheet.text, leave_out=wrong, digest=digest)
    taken = take_in_spreadsheet(garden.session, confirmed, **garden.when)
    rows = {
        row.line - 2: _row(garden, find_lot(garden.session, row.code), odd[row.line - 2])
        for row in taken.lots
    }
    assert [isinstance(one, str) for one in form] == [n not in rows for n in range(ODD)]
    assert [one for one in form if not isinstance(one, str)] == [rows[n] for n in sorted(rows)]
    assert ODD // 15 < len(wrong) < ODD - ODD // 15


PASSPORT = (
    "harvest_year", "harvest_date", "harvest_estimated", "thousand_seed_weight_g",
    "thousand_seed_weight_se_g", "seed_parents",
)  # fmt: skip


def test_by_a_passport(garden: Garden) -> None:
    given = garden.lot(50)
    told = write_passport(garden.session, given.code, seeds=5, today=garden.today)
    parts = told.model_dump(exclude={"digest"}) | {"stays": [], "tests": []}
    variety_id = garden.variety()
    odd = [only(one, *PASSPORT) for one in odd_lots()]
    form = [
        by_form(garden, one | {"origin": "gift", "acquired_on": garden.today}, variety_id)
        for one in odd
    ]

    def passport(n: int) -> Came:
        one = parts | odd[n] | {"keeper": f"garden no. {n}", "first_seen_on": garden.today}

        def take() -> str:
            arrival = PassportArrival(passport=sealed(one))
            return take_in_passport(garden.session, arrival, **garden.when).lot.code

        return _tried(take, garden, odd[n])

    for number, one in enumerate(form):
        other = passport(number)
        assert isinstance(one, str) == isinstance(other, str), (one, other, odd[number])
        if not isinstance(one, str):
            assert isinstance(other, dict)
            assert other.items() <= one.items()


def _archived(plain: bytes, odd: list[Told]) -> bytes:
    """The archive with these lots in place of its one."""
    specs = specs_of(Lot.__table__)  # type: ignore[attr-defined]  # SQLModel hides the table

    def lots(before: bytes) -> bytes:
        (first,) = csv.DictReader(io.StringIO(before.decode(), newline=""))
        out = io.StringIO(newline="")
        writer = csv.DictWriter(out, [spec.name for spec in specs], lineterminator="\r\n")
        writer.writeheader()
        for number, one in enumerate(odd, start=1):
            row = {name: _cell(cell) for name, cell in one.items() if name != "amount"}
            writer.writerow(first | row | {"id": number, "code": f"A{number}"})
        return out.getvalue().encode()

    return changed(plain, "lot.csv", lots)


def test_by_an_archive(garden: Garden) -> None:
    """It says nothing of a day or a year still to come: it may be older, or the clock behind."""
    variety_id = garden.variety()
    every = [only(told, *FOLDER) for told in odd_lots()]
    every = [told | {"donor": "", "notes": ""} for told in every]
    odd = [
        told
        for told in every
        if max(told["acquired_on"] or TODAY, told["harvest_date"] or TODAY) <= TODAY
        and (told["harvest_year"] or 0) <= TODAY.year
    ]
    form = [by_form(garden, told, variety_id) for told in odd]
    empty(garden.session)
    garden.lot(0)
    plain = archive_of(garden.session)
    refused: dict[int, str] = {}
    for start in range(0, len(odd), 60):  # a hundred problems are told at a time
        empty(garden.session)
        archive = _archived(plain, odd[start : start + 60])
        with pytest.raises(ArchiveRefused) as refusal:
            import_archive(garden.session, io.BytesIO(archive), name="a.zip")
        told = _by_line(refusal.value.problems)
        refused |= {start + line - 2: said for line, said in told.items()}
    right = [told for n, told in enumerate(odd) if n not in refused]
    archive = _archived(plain, right)
    import_archive(garden.session, io.BytesIO(archive), name="a.zip")
    lots = iter(garden.session.exec(select(Lot).order_by(col(Lot.id))).all())
    other = [refused.get(n) or _row(garden, next(lots), told) for n, told in enumerate(odd)]
    # A year that follows from the day is filled in by the form alone.
    for one in (*form, *other):
        if isinstance(one, dict) and one["harvest_date"] is not None:
            one.pop("harvest_year", None)
    agree(form, other)


LATE = {
    "origin": "gift",
    "harvest_date": date(2024, 9, 10),
    "acquired_on": date(2024, 2, 1),
    "thousand_seed_weight_g": 500_000.0,
}


def test_a_lot_had_before_its_harvest_of_half_a_ton_is_refused_as_the_form_refuses_it(
    garden: Garden, tmp_path: Path
) -> None:
    variety_id = garden.variety()
    heavy = by_form(garden, LATE, variety_id)
    early = by_form(garden, LATE | {"thousand_seed_weight_g": 5.0}, variety_id)
    assert heavy == "Give 100000 or less."
    assert early == "acquired_on comes before 2024-09-10."
    for weight, said in ((500_000.0, heavy), (5.0, early)):
        line = {"label": "L", "kind": "carrot", "variety": "Invented 1"}
        _csv(tmp_path / "lots.csv", [line | LATE | {"thousand_seed_weight_g": weight}])
        with pytest.raises(ImportRefused, match=said):
            import_collection(garden.session, tmp_path, garden.now)


def test_a_collection_that_holds_such_a_lot_is_not_found_sound(garden: Garden) -> None:
    lot = find_lot(garden.session, garden.lot(0).code)
    connection = garden.session.connection()

    def faults() -> list[str]:
        proofs = [*check_rules(connection), *check_counts(connection)]
        return [text_of(fault) for proof in proofs for fault in proof.faults]

    assert faults() == []
    for name, cell in LATE.items():
        setattr(lot, name, cell)
    lot.harvest_year = 2023
    garden.session.add(lot)
    garden.session.flush()
    assert faults() == [
        f"lot {lot.id}: its thousand_seed_weight_g can't be right.",
        f"Lot {lot.code} was harvested in two years, or its weight has an error and no value.",
        f"Lot {lot.code} came here on 2024-02-01 and was harvested later, 2024-09-10.",
    ]
