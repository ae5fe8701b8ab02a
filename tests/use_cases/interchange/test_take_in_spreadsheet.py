"""Somebody's own list: shown as it was read, and taken in as it was shown, once."""

import csv
import io
from base64 import b64encode
from collections import Counter
from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from seedbank.common.errors import Conflict, Refused
from seedbank.interchange.spreadsheet.answers import (
    Meaning,
    SheetRowAnswer,
    Spreadsheet,
    SpreadsheetConfirmed,
    SpreadsheetPreview,
    Sure,
)
from seedbank.interchange.spreadsheet.take_in_spreadsheet import (
    preview_spreadsheet,
    take_in_spreadsheet,
)
from seedbank.interchange.spreadsheet.text import SheetRefused
from seedbank.lots.show_lots import show_lot
from seedbank.lots.tables.lots import Lot
from tests.use_cases.conftest import Garden

LIST = """Crop;Variety;How many;Year;Bought;From;Where kept;Remarks
carrot;Purple Lantern;approx 50;2019?;12/3/2020;seed swap;Blue tin;a bit damp
Runner beans;Tall Ship;1/4 packet;'19;25/12/2020;Ann next door;Blue tin;
tomato;Sunfold;half a jar;spring 2018;;own;;
beet;;0.5 oz;;;;;
"""


def preview(garden: Garden, text: str = LIST, **said: Any) -> SpreadsheetPreview:
    return preview_spreadsheet(garden.session, Spreadsheet(text=text, **said), today=garden.today)


def rows(garden: Garden, text: str = LIST, **said: Any) -> dict[int, SheetRowAnswer]:
    return {row.line: row for row in preview(garden, text, **said).rows}


def take(garden: Garden, text: str = LIST, *, digest: str | None = None, **said: Any) -> Any:
    shown = digest or preview(garden, text, **said).digest
    form = SpreadsheetConfirmed(text=text, digest=shown, **said)
    return take_in_spreadsheet(garden.session, form, **garden.when)


def test_each_row_is_shown_with_what_it_was_read_from_and_nothing_is_kept(garden: Garden) -> None:
    before = garden.dump()
    shown = preview(garden)
    assert (shown.lots, shown.in_the_way) == (4, 0)
    first, beans, tomato, beet = shown.rows
    assert (first.kind, first.variety, first.seeds, first.seeds_se) == (
        "carrot", "Purple Lantern", 50, 10,
    )  # fmt: skip
    assert (first.harvest_year, first.harvest_estimated) == (2019, True)
    assert (first.acquired_on, first.origin) == (date(2020, 3, 12), "swapped")
    assert (beans.kind, beans.harvest_year, beans.harvest_estimated) == ("runner-bean", 2019, False)
    assert (tomato.seeds, tomato.origin, tomato.donor) == (None, "self-saved", "")
    assert (beet.variety, beet.grams) == ("not named", pytest.approx(14.17476))
    assert "“Bought”: the day comes first, as “25/12/2020” on line 3 shows." in shown.said
    assert garden.dump() == before


def test_no_cell_is_left_unsaid(garden: Garden) -> None:
    for row, text in zip(preview(garden).rows, LIST.splitlines()[1:], strict=True):
        written = [cell for cell in text.split(";") if cell]
        assert [cell.text for cell in row.cells if cell.text] == written
        assert all(cell.said for cell in row.cells)


def test_what_is_confirmed_is_taken_in_with_its_errors_and_its_words(garden: Garden) -> None:
    taken = take(garden)
    assert [one.line for one in taken.lots] == [2, 3, 4, 5]
    lots = [show_lot(garden.session, one.code, today=garden.today) for one in taken.lots]
    carrot, beans, tomato, beet = lots
    assert (carrot.amount.seeds, carrot.amount.seeds_se) == (50, 10)
    assert (carrot.harvest_year, carrot.harvest_estimated) == (2019, True)
    assert carrot.place is not None
    assert (carrot.place.name, carrot.place) == ("Blue tin", beans.place)
    for piece in ("line 2", "How many: approx 50", "Year: 2019?", "Remarks: a bit damp"):
        assert piece in carrot.notes
    assert tomato.amount.text == "some, not counted"
    assert beet.amount.seeds > 100
    assert beet.amount.seeds_se > 0


def test_the_same_list_confirmed_twice_books_once(garden: Garden) -> None:
    shown = preview(garden)
    first = take(garden, digest=shown.digest)
    after = garden.dump()
    again = take(garden, digest=shown.digest)
    assert again.lots == []
    assert again.before == first.lots
    assert garden.dump() == after
    assert preview(garden).lots == 0
    assert [row.taken_in_as for row in preview(garden).rows] == [one.code for one in first.lots]


def test_a_list_that_grew_takes_in_what_is_new_wherever_it_stands(garden: Garden) -> None:
    first = take(garden)
    lines = LIST.splitlines()
    grown = "\n".join([lines[0], "pea;Low Lantern;40;2020;;;;", *lines[1:], lines[1]]) + "\n"
    again = take(garden, grown)
    assert [one.line for one in again.lots] == [2, 7]  # the last row is a second packet like it
    assert [one.code for one in again.before] == [one.code for one in first.lots]


def test_lots_that_look_like_a_row_are_pointed_out(garden: Garden) -> None:
    lot = garden.lot(250, harvest_year=2019)
    text = f"Crop,Variety,Year\ncarrot,{lot.variety.name.upper()},2019\ncarrot,Other,2019\n"
    like, other = preview(garden, text).rows
    assert like.warnings == [
        f"Of this variety and year lot {lot.code} is here already: is this another packet?"
    ]
    assert other.warnings == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"text": LIST.replace("approx 50", "approx 60")}, {}),
        ({}, {"packet_seeds": 60}),
        ({}, {"columns": {"Remarks": Meaning.DONOR, "From": Meaning.NOTES}}),
        ({}, {"leave_out": [2]}),
        ({}, {"origin": "gift"}),
    ],
)
def test_anything_but_what_was_shown_is_refused(
    garden: Garden, change: dict[str, Any], said: dict[str, Any]
) -> None:
    digest = preview(garden).digest
    before = garden.dump()
    with pytest.raises(Conflict, match="isn’t what was shown"):
        take(garden, **change, digest=digest, **said)
    assert garden.dump() == before


def test_what_must_be_answered_first_is_told_by_line_and_nothing_is_taken_in(
    garden: Garden,
) -> None:
    text = "Crop,Variety,How many,Bought\ncarot,A,20,\npea,B,-5,2/3/2019\npea,C,9,1 Jan 2019\n"
    shown = preview(garden, text)
    assert (shown.lots, shown.in_the_way) == (1, 2)
    assert {(one.field, one.about) for one in shown.questions} == {
        ("day_order", "Bought"), ("kinds", "carot"),
    }  # fmt: skip
    before = garden.dump()
    with pytest.raises(SheetRefused) as refused:
        take(garden, text)
    told = [(one.line, one.column, one.value) for one in refused.value.problems]
    assert told == [(2, "Crop", "carot"), (3, "How many", "-5"), (3, "Bought", "2/3/2019")]
    assert "did you mean carrot" in str(refused.value)
    assert garden.dump() == before
    said: dict[str, Any] = {"kinds": {"carot": "carrot"}, "leave_out": [3]}
    answered = take(garden, text, day_order="day-first", **said)
    assert [one.line for one in answered.lots] == [2, 4]
    assert answered.left_out == [3]


@pytest.mark.parametrize(
    ("cell", "kind", "variety"),
    [
        ("Carrot 'Purple Lantern'", "carrot", "Purple Lantern"),
        ("Purple Lantern (carrot)", "carrot", "Purple Lantern"),
        ("Runner bean - Tall Ship", "runner-bean", "Tall Ship"),
        ("Tall Ship runner beans", "runner-bean", "Tall Ship"),
        ("carrot", "carrot", "not named"),
        ("Purple Lantern", None, "Purple Lantern"),
    ],
)
def test_a_name_that_holds_both_is_parted(
    garden: Garden, cell: str, kind: str | None, variety: str
) -> None:
    (row,) = preview(garden, f"Name,Qty\n{cell},20\n").rows
    assert (row.kind, row.variety) == (kind, variety)


def test_a_word_of_the_variety_or_the_notes_tells_the_kind_more_nearly(garden: Garden) -> None:
    text = (
        "Crop;Variety;Remarks\nonion;White bunching;\nonion;Red Globe;for bunching onions\n"
        "onion;Red Globe;sown in spring\n;Onion 'Green spring';\nbean;Runner, tall;\n"
        "courgette;Long green;\nsweetcorn;Early;\n"
    )
    shown = preview(garden, text).rows
    assert [one.kind for one in shown] == [
        "welsh-onion", "welsh-onion", "onion", "welsh-onion", "runner-bean", "squash-pepo",
        "sweet-corn",
    ]  # fmt: skip
    assert "taken as Welsh onion" in shown[0].cells[0].said
    told = preview(garden, text, kinds={"onion": "onion"}).rows
    assert [one.kind for one in told[:3]] == ["onion"] * 3


def test_a_variety_that_is_here_already_tells_its_kind(garden: Garden) -> None:
    lot = garden.lot(10, kind="lettuce")
    (row,) = preview(garden, f"Name,Qty\n{lot.variety.name},20\n").rows
    assert row.kind == "lettuce"


def test_columns_are_known_by_their_heading_or_by_what_stands_in_them(garden: Garden) -> None:
    text = "A,B,C,D,E\ncarrot,Dusk,2019,50 seeds,3 Mar 2020\npea,Low,2020?,3 g,4 Apr 2021\n"
    meanings = [one.meaning for one in preview(garden, text).columns]
    assert meanings == ["kind", "variety", "notes", "amount", "notes"]
    asked = {one.about: one for one in preview(garden, text).questions}
    assert asked.keys() == {"C", "E"}  # years and days may be of anything: its owner says of what
    assert {one.field for one in asked.values()} == {"columns"}
    assert {"harvested", "packed_on"} < set(asked["C"].choices)
    said = preview(garden, text, columns={"C": "harvested", "E": "acquired_on"})
    assert [one.meaning for one in said.columns][2::2] == ["harvested", "acquired_on"]
    assert said.questions == []
    weighed = preview(garden, "Veg,cultivar,Weight (g)\ncarrot,Dusk,3\n").rows[0]
    assert (weighed.grams, weighed.seeds) == (3, None)
    moved = rows(garden, LIST, columns={"Remarks": "donor", "from": "notes"})
    assert moved[2].donor == "a bit damp"


def test_a_list_without_headings_loses_no_row(garden: Garden) -> None:
    shown = preview(garden, "carrot,Dusk,2019,50\npea,Low,2020,20\n")
    assert [row.variety for row in shown.rows] == ["Dusk", "Low"]
    assert any("first line is a row too" in said for said in shown.said)


def test_what_is_said_of_a_sheet_must_fit_it(garden: Garden) -> None:
    for said, field in (
        ({"columns": {"Nowhere": "kind"}}, "columns"),
        ({"columns": {"Crop": "variety", "Variety": "variety"}}, "columns"),
        ({"kinds": {"neep": "nosuchthing"}}, "kinds"),
        ({"leave_out": [99]}, "leave_out"),
    ):
        with pytest.raises(Refused) as refused:
            preview(garden, LIST, **said)
        assert refused.value.field == field
    with pytest.raises(ValidationError):
        Spreadsheet(text="a", base64="YQ==")


def test_the_files_bytes_read_as_its_text_does(garden: Garden) -> None:
    content = b64encode(LIST.encode("utf-16")).decode()
    as_bytes = preview_spreadsheet(garden.session, Spreadsheet(base64=content), today=garden.today)
    assert as_bytes.rows == preview(garden).rows


def test_rows_the_collection_refuses_are_told_by_line_and_nothing_is_taken_in(
    garden: Garden, monkeypatch: pytest.MonkeyPatch
) -> None:
    from seedbank.lots import take_in_lots

    def refusing(lot: Lot) -> None:
        if lot.origin in ("self-saved", "swapped"):
            raise Refused("misfit", "donor", lot.donor, mend="Mend it")

    monkeypatch.setattr(take_in_lots, "check_came_after_harvest", refusing)
    before = garden.dump()
    with pytest.raises(SheetRefused) as refused:
        take(garden)
    assert [(p.line, p.column) for p in refused.value.problems] == [(2, "donor"), (4, "donor")]
    assert garden.dump() == before


SHORT = "Crop,Variety,Year\ncarrot,A,2009-10\npea,B,2020\npea,C,11/12\nbean,D,2009-10\n"


def test_a_date_that_may_be_read_two_ways_waits_for_its_writer_to_say_which(
    garden: Garden,
) -> None:
    shown = preview(garden, SHORT, kinds={"bean": "runner bean"})
    assert [(one.field, one.about, one.choices, one.rows) for one in shown.questions] == [
        ("short_dates", "2009-10", ["month", "years"], 2),
        ("dates", "11/12", ["November 2012", "December 2011", "2011 to 2012", "unknown"], 1),
    ]
    assert (shown.lots, shown.in_the_way) == (1, 3)
    with pytest.raises(SheetRefused, match="line 2, Year '2009-10': may be October 2009 or 2009"):
        take(garden, SHORT, kinds={"bean": "runner bean"})
    said = {"kinds": {"bean": "runner bean"}, "dates": {"2009-10": "2009 to 2010"}}
    said["dates"]["11/12"] = "unknown"
    read = rows(garden, SHORT, **said)
    years = {line: (row.harvest_year, row.harvest_estimated) for line, row in read.items()}
    assert years == {2: (2009, True), 3: (2020, False), 4: (None, False), 5: (2009, True)}
    said["dates"]["2009-10"] = "October 2009"
    taken = take(garden, SHORT, **said)
    lot = show_lot(garden.session, taken.lots[0].code, today=garden.today)
    assert (lot.harvest_year, lot.harvest_estimated) == (2009, False)
    assert "Year: 2009-10" in lot.notes


def test_a_month_or_two_years_is_said_once_for_a_list_or_shown_by_its_column(
    garden: Garden,
) -> None:
    said = {"kinds": {"bean": "runner bean"}, "dates": {"11/12": "unknown"}}
    for pairs, estimated in (("month", False), ("years", True)):
        read = rows(garden, SHORT, **said, short_dates=pairs)
        assert {(read[line].harvest_year, read[line].harvest_estimated) for line in (2, 5)} == {
            (2009, estimated)
        }
    for other, estimated in (("2020-09", False), ("2008-20", True)):
        read = rows(garden, SHORT.replace("2020\n", f"{other}\n"), **said)
        assert (read[2].harvest_year, read[2].harvest_estimated) == (2009, estimated)


def test_what_a_date_is_said_to_mean_has_to_be_understood(garden: Garden) -> None:
    for meant in ("2009-10", "12/3/2009", "some day", "2031", "use by"):
        with pytest.raises(Refused, match=r"isn’t understood|which|to come|tells nothing") as told:
            preview(garden, SHORT, dates={"2009-10": meant})
        assert (told.value.field, told.value.value) == ("dates", meant)


def test_a_date_answered_asks_no_order_of_its_column(garden: Garden) -> None:
    text = "Crop,Variety,Bought\npea,A,19-03-12\n"
    assert [one.field for one in preview(garden, text).questions] == ["dates"]
    answered = preview(garden, text, dates={"19-03-12": "2019-03-12"})
    assert answered.questions == []
    assert answered.rows[0].acquired_on == date(2019, 3, 12)
    other = "Crop,Variety,Bought\npea,A,2/3/2012\n"
    answered = preview(garden, other, dates={"2/3/2012": "2012-03-02"})
    assert (answered.questions, answered.rows[0].acquired_on) == ([], date(2012, 3, 2))


def test_years_that_may_be_months_are_years_in_a_list_without_headings_too(garden: Garden) -> None:
    shown = preview(garden, "carrot,Dusk Finger,2009-10\npea,Low Lantern,2010-11\n")
    assert [one.meaning for one in shown.columns] == ["kind", "variety", "harvested"]


_CELLS = st.one_of(
    st.sampled_from(["carrot", "pea", "50", "~20", "1/4 packet", "2019?", "1/2/2019", "2009-10", "",
                     "own", "=1+1", "-5", "x" * 130, "3 g", "Purple Lantern", "<b>", "'"]),
    st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=20),
)  # fmt: skip
_HEADS = st.lists(
    st.sampled_from(["Crop", "Variety", "Qty", "Year", "Bought", "From", "Notes", "", "Odd"]),
    min_size=1, max_size=6, unique=True,
).filter(any)  # fmt: skip


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(_HEADS, st.lists(st.lists(_CELLS, min_size=1, max_size=7), min_size=1, max_size=4))
def test_whatever_is_written_is_shown_whole_or_refused_by_line(
    garden: Garden, heads: list[str], body: list[list[str]]
) -> None:
    out = io.StringIO()
    csv.writer(out).writerows([heads, *body])
    shown = None
    problems: list[int] = []
    try:
        shown = preview(garden, out.getvalue())
    except SheetRefused as refused:
        problems = [one.line for one in refused.problems]
    if shown is None:
        assert problems
        assert min(problems) > 0
        return
    told = [[cell.text for cell in row.cells if cell.text] for row in shown.rows]
    written = [
        kept for row in body if (kept := [text for cell in row if (text := " ".join(cell.split()))])
    ]
    if any("for the heading of the lines below" in said for said in shown.said):
        assert not Counter(map(tuple, told)) - Counter(map(tuple, [heads, *written]))
        told, written = ([row for row in rows if len(row) > 1] for rows in (told, written))
    assert told[len(told) - len(written) :] == written
    for row in shown.rows:
        assert row.seeds is None or row.seeds >= 0  # 0: none is left
        assert row.in_the_way == any(c.sure in (Sure.ASKED, Sure.WRONG) for c in row.cells)
        assert row.in_the_way or row.kind is not None


SAYS = (
    "Crop,Variety,Harvested,Germination %,Tested,Packed for,Packed,Pelleted,Treated,Grams\n"
    "carrot,Dusk,2018,{},10\n"
)


@pytest.mark.parametrize(
    ("cells", "read"),
    [
        ("88,Mar 2019,2019,2019-02,yes,no", (88, "2019-03", 2019, "2019-02", "pelleted", False)),
        ("88 %,31/3/2019,packed for 2019,2019,,treated",
         (88, "2019-03-31", 2019, "2019", None, True)),
        ("0.885,2019,season 2019,,primed,dressed", (88.5, "2019", 2019, None, "primed", True)),
        ("good,no idea,soon,,maybe,?", (None, None, None, None, None, False)),
        (",,,,,", (None, None, None, None, None, False)),
    ],
)  # fmt: skip
def test_what_a_packet_says_is_read_and_kept(
    garden: Garden, cells: str, read: tuple[object, ...]
) -> None:
    text = SAYS.format(cells)
    shown = preview(garden, text)
    assert [one.meaning.value for one in shown.columns][3:9] == list(OF_PACKET)
    [row] = shown.rows
    lot = show_lot(garden.session, take(garden, text).lots[0].code, today=garden.today)
    for told in (row, lot):
        assert tuple(getattr(told, name) for name in OF_PACKET) == read
    assert (lot.amount.seeds is None) == (lot.seed_form == "pelleted")  # of unknown weight


OF_PACKET = (
    "printed_germination_pct", "printed_test_on", "packed_for", "packed_on", "seed_form", "treated",
)  # fmt: skip


@pytest.mark.parametrize(
    "heading", ["TSW (g)", "Thousand-seed weight", "1000 seed weight g", "TKG"]
)
def test_pellets_are_counted_by_what_a_thousand_of_them_weigh(garden: Garden, heading: str) -> None:
    text = (
        f"Crop,Variety,Pelleted,Grams,{heading}\nlettuce,Dusk,yes,6 g,20\nlettuce,Dawn,yes,6 g,\n"
    )
    shown = preview(garden, text)
    assert shown.columns[4].meaning.value == "thousand_seed_weight_g"
    weighed, unknown = (
        show_lot(garden.session, one.code, today=garden.today) for one in take(garden, text).lots
    )
    assert weighed.thousand_seed_weight_g == shown.rows[0].thousand_seed_weight_g == 20.0
    assert (weighed.amount.grams, weighed.amount.seeds) == (6.0, 300)
    assert weighed.amount.seeds_se == pytest.approx(12.0)  # 4 %
    assert unknown.amount.seeds is None


def test_a_thousand_seeds_that_weigh_nothing_stand_in_the_way(garden: Garden) -> None:
    shown = preview(garden, "Crop,Variety,TSW\nlettuce,Dusk,0\n")
    assert shown.rows[0].in_the_way


@pytest.mark.parametrize(
    "cells", ["888,2019,2019,,,", "88,2035,2019,,,", "88,1/2/2019,,,,", "88,2016,,,,"]
)
def test_what_a_packet_cannot_say_stands_in_the_way(garden: Garden, cells: str) -> None:
    text = SAYS.format(cells)
    if cells != "88,2016,,,,":
        assert preview(garden, text).rows[0].in_the_way
    with pytest.raises(SheetRefused):
        take(garden, text)


def test_a_germination_nobody_says_is_printed_is_said_to_be_taken_so(garden: Garden) -> None:
    for heading, sure in (("Germination", Sure.ESTIMATED), ("Printed germination", Sure.WRITTEN)):
        shown = preview(garden, f"Crop,Variety,{heading}\ncarrot,Dusk,88\n")
        [cell] = [one for one in shown.rows[0].cells if one.heading == heading]
        assert cell.sure is sure
        assert "taken as printed on its packet" in cell.said


@pytest.mark.parametrize(
    ("cell", "day"),
    [
        ("31/10/2029", date(2029, 10, 31)),
        ("2028-02", date(2028, 2, 29)),
        ("Mar 2028", date(2028, 3, 31)),
        ("2030", date(2030, 12, 31)),
        ("2019?", date(2019, 12, 31)),
        ("no idea", None),
        ("2099", None),
        ("", None),
    ],
)
def test_the_day_to_sow_it_by_is_read_and_kept(garden: Garden, cell: str, day: date | None) -> None:
    text = f"Crop,Variety,Harvested,Sow by\ncarrot,Dusk,2018,{cell}\n"
    shown = preview(garden, text)
    assert [one.meaning for one in shown.columns][3] is Meaning.SOW_BY
    row = shown.rows[0]
    assert row.sow_by == day
    if cell == "2099":
        assert row.in_the_way
        return
    lot = show_lot(garden.session, take(garden, text).lots[0].code, today=garden.today)
    assert (lot.sow_by, lot.harvest_year) == (day, 2018)
