"""What a thing consists of is declared once: forms, answers and tables have no field beside it."""

from datetime import date
from typing import Any

import pytest
from pydantic import BaseModel, Field, ValidationError
from sqlmodel import SQLModel

import seedbank.server.api  # noqa: F401  # every form and answer there is
from seedbank.common.answers import AnswerModel
from seedbank.common.fields import Fields
from seedbank.common.forms import ChangeForm, Day, Form, Name, SomeSeeds
from seedbank.germination.tables import Judged, SeedCounts
from seedbank.germination.words import seed_classes
from seedbank.science.germination.germination import VIABLE, SeedClass


class _BedFields(Fields):
    name: Name = Field(description="Its name.")
    plants: SomeSeeds | None = Field(default=None, description="Plants in it.")
    dug_on: Day | None = Field(default=None, description="Day it was dug.")


class _BedCreate(_BedFields, Form):
    pass


class _BedChange(_BedFields, ChangeForm):
    pass


class _BedAnswer(_BedFields, AnswerModel):
    number: int


def test_a_created_thing_needs_what_has_no_default_within_its_bounds() -> None:
    assert _BedCreate(name="East").plants is None
    for wrong in ({}, {"name": "East", "plants": 0}, {"name": "East", "colour": "red"}):
        with pytest.raises(ValidationError):
            _BedCreate.model_validate(wrong)


def test_a_change_names_what_it_changes_and_nothing_else() -> None:
    change = _BedChange.model_validate({"plants": None})
    assert change.model_fields_set == {"plants"}
    assert _BedChange.model_validate({}).model_dump(exclude_unset=True) == {}


def test_a_change_keeps_the_bounds() -> None:
    for wrong in ({"plants": 0}, {"name": None}, {"name": ""}, {"colour": "red"}):
        with pytest.raises(ValidationError):
            _BedChange.model_validate(wrong)


def test_a_change_tells_the_document_no_default() -> None:
    schema = _BedChange.model_json_schema()
    assert "required" not in schema
    assert all("default" not in one for one in schema["properties"].values())
    assert schema["properties"]["plants"]["description"] == "Plants in it."
    assert schema["properties"]["plants"]["anyOf"][0]["minimum"] == 1


def test_an_answer_gives_every_field() -> None:
    with pytest.raises(ValidationError, match="dug_on"):
        _BedAnswer.model_validate({"name": "East", "plants": 3, "number": 1})
    assert set(_BedAnswer.model_json_schema()["required"]) == {"name", "plants", "dug_on", "number"}


def test_an_answer_tells_of_a_row_whose_values_lie_outside_todays_bounds() -> None:
    old: dict[str, Any] = {"name": "", "plants": 0, "dug_on": date(1700, 1, 1), "number": 1}
    assert _BedAnswer.model_validate(old).model_dump() == old
    assert "minimum" not in str(_BedAnswer.model_json_schema())


def test_deriving_leaves_the_declaration_as_it_was() -> None:
    assert _BedFields.model_fields["plants"].default is None
    assert _BedFields.model_fields["name"].is_required()
    with pytest.raises(ValidationError):
        _BedCreate.model_validate({"name": "x" * 121})


def _derived() -> list[type[BaseModel]]:
    found, waiting = [], list(Fields.__subclasses__())
    while waiting:
        one = waiting.pop()
        waiting += one.__subclasses__()
        if one.__module__.startswith("seedbank.") and issubclass(
            one, (Form, AnswerModel, SQLModel)
        ):
            found.append(one)
    return found


def test_no_derived_model_declares_the_bounds_of_a_field_anew() -> None:
    derived = _derived()
    assert len(derived) > 40
    for model in derived:
        own = set(model.__annotations__)
        declared = {
            name
            for base in model.__mro__[1:]
            if issubclass(base, Fields) and not issubclass(base, (Form, AnswerModel, SQLModel))
            for name in base.__annotations__
        }
        assert own & declared <= ALLOWED.get(model.__name__, set()), model.__name__


# Fields that mean another thing on that form, and why.
ALLOWED = {"ReplicateResult": {"normal", "dead"}}


def test_every_class_of_seed_has_its_count() -> None:
    assert set(SeedCounts.model_fields) == set(SeedClass) == set(seed_classes())
    seeds = Judged(**{one: 10**place for place, one in enumerate(SeedClass)})
    assert seeds.by_class() == seeds.model_dump()
    assert seeds.seeds() == 11111
    assert seeds.seeds(*VIABLE) == seeds.normal + seeds.hard + seeds.fresh
    assert seeds.with_more(seeds, less=seeds) == seeds
