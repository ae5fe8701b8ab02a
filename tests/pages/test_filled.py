"""Forms as a browser sends them, read by the service's own models."""

from typing import Annotated, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import Field

from seedbank.common.errors import Overdrawn
from seedbank.common.forms import Day, Flag, Form, Real
from seedbank.common.local_format import Local
from seedbank.germination.forms import CountsCreate, TestStart
from seedbank.lots.forms import MovementCreate
from seedbank.settings import Units
from seedbank.web.pages.form_reading import Filled, read_form

LOCAL = Local()


class Tried(Form):
    """One field of each sort."""

    row_m: Annotated[Real, Field(gt=0, le=2000)] | None = None
    seeds: Annotated[int, Field(strict=True, ge=1)] = 1
    fresh: Flag = False
    on_date: Day | None = None
    notes: str = ""


def read(**typed: str) -> Filled[Tried]:
    return read_form(Tried, typed, LOCAL)


@pytest.mark.parametrize(
    ("typed", "field", "value"),
    [
        ({"row_m": "2.5"}, "row_m", 2.5),
        ({"row_m": "2,5"}, "row_m", 2.5),
        ({"row_m": " 1 000 "}, "row_m", 1000.0),
        ({"row_m": ""}, "row_m", None),
        ({"seeds": "30"}, "seeds", 30),
        ({"seeds": "30.0"}, "seeds", 30),
        ({"fresh": "yes"}, "fresh", True),
        ({"fresh": "no"}, "fresh", False),
        ({"on_date": "2027-02-20"}, "on_date", None),
        ({"notes": "  12 "}, "notes", "12"),
        ({"stranger": "x"}, "notes", ""),
    ],
    ids=str,
)
def test_text_is_read_as_the_field_asks(typed: dict[str, str], field: str, value: Any) -> None:
    form = read(**typed).form
    assert form is not None
    found = getattr(form, field)
    assert found == value or (field == "on_date" and found.isoformat() == typed[field])


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"seeds": "thirty"}, "seeds", "Give a whole number."),
        ({"seeds": "2.5"}, "seeds", "Give a whole number."),
        ({"seeds": "0"}, "seeds", "Give 1 or more."),
        ({"seeds": "1" * 40}, "seeds", "Give a whole number."),
        ({"row_m": "-1"}, "row_m", "Give more than 0"),
        ({"row_m": "1e400"}, "row_m", "Give a number."),
        ({"row_m": "nan"}, "row_m", "Give a number."),
        ({"fresh": "perhaps"}, "fresh", "Give true or false."),
        ({"on_date": "20/2/2027"}, "on_date", "Write the date as year-month-day"),
    ],
    ids=str,
)
def test_what_does_not_read_is_told_beside_its_field(
    typed: dict[str, str], field: str, said: str
) -> None:
    filled = read(**typed)
    assert filled.form is None
    assert filled.error(field).startswith(said), filled.errors
    assert filled.value(field) == typed[field]
    assert filled.others([field]) == []


def test_us_readers_type_feet_and_are_told_limits_in_feet() -> None:
    us = Local(Units.US)
    form = read_form(Tried, {"row_m": "10"}, us).form
    assert form is not None
    assert form.row_m == pytest.approx(3.048)
    assert read_form(Tried, {"row_m": "-1"}, us).error("row_m") == "Give more than 0."
    far = read_form(Tried, {"row_m": "99999999"}, us).error("row_m")
    assert far == "Give 6562 or less."  # 2000 m


def test_nested_and_listed_fields_find_their_places() -> None:
    given_away = read_form(
        MovementCreate, {"amount.seeds": "30", "amount.grams": ""}, LOCAL, {"reason": "given"}
    )
    assert given_away.form is not None
    assert given_away.form.amount.seeds == 30
    typed = {"counts[0].replicate": "1", "counts[0].normal": "4", "counts[2].replicate": "3"}
    counted = read_form(CountsCreate, typed, LOCAL).form
    assert counted is not None
    assert [(row.replicate, row.normal) for row in counted.counts] == [(1, 4), (3, 0)]
    started = read_form(TestStart, {"lot": "4K7PM", "replicates[0]": "25"}, LOCAL).form
    assert started is not None
    assert started.replicates == [25]


def test_what_the_collection_refuses_is_told_beside_the_field_it_names() -> None:
    faulted = read(seeds="30").faulted(Overdrawn(1, held=20, asked=30), Local())
    assert faulted.form is None
    assert "30 asked" in faulted.error("seeds")
    assert "Take at most 20 seeds" in faulted.error("seeds")


@given(
    typed=st.dictionaries(
        st.text("abc.[]0123 _-", max_size=12) | st.sampled_from(["row_m", "seeds", "notes"]),
        st.text(max_size=30),
        max_size=6,
    )
)
def test_no_fields_however_odd_break_the_reading(typed: dict[str, str]) -> None:
    for model in (Tried, MovementCreate, CountsCreate):
        filled = read_form(model, typed, LOCAL)
        assert (filled.form is None) == bool(filled.errors)
