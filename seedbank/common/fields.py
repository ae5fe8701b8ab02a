"""What a thing consists of, declared once: its forms, its answer and its table derive from it."""

from copy import copy
from datetime import date
from types import UnionType
from typing import Annotated, Any, Union, dataclass_transform, get_args, get_origin

from pydantic import BaseModel, Field
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined


def optional(description: str, *examples: object, default: object) -> Any:
    """A field that has a default. Of two examples the second is what it is changed to."""
    return Field(default=default, description=description, examples=list(examples))


@dataclass_transform(kw_only_default=True, field_specifiers=(Field, optional))
class Fields(BaseModel, defer_build=True):
    """Fields of a thing, each with its type, bounds, unit, description and examples.

    ``LotCreate(LotFields, Form)`` takes them as they are declared; ``LotChange(LotFields,
    ChangeForm)`` lets each be left out; ``LotAnswer(LotFields, AnswerModel)`` always gives each,
    within bounds or not; ``Lot(LotFields, Editable, table=True)`` has a column for each.
    """


def leave_out_any(model: type[BaseModel]) -> None:
    """Let each field of a form be left out, which isn't the same as null; its default is no value.

    Of the examples the last comes first: what a change changes is something else than before.
    """
    for name, declared in model.model_fields.items():
        field = copy(declared)
        field.default, field.default_factory = None, None
        field.examples = field.examples and field.examples[::-1]
        field.json_schema_extra = _drop_default
        model.model_fields[name] = field


def give_every(model: type[BaseModel]) -> None:
    """Have an answer give each field of a thing, without its bounds: old rows may lie outside."""
    for name, field in _unbounded_fields(model):
        field.default, field.default_factory = PydanticUndefined, None
        model.model_fields[name] = field


def read_from_text(model: type[BaseModel]) -> None:
    """Have a line of text give each field of a thing, its bounds left to the form it fills."""
    for name, field in _unbounded_fields(model, but=date):
        model.model_fields[name] = field


def _unbounded_fields(
    model: type[BaseModel], but: type | None = None
) -> list[tuple[str, FieldInfo]]:
    """Each field a model has of a thing, without its bounds."""
    things = [one for one in model.__bases__ if issubclass(one, Fields)]
    fields = {name: copy(model.model_fields[name]) for one in things for name in one.model_fields}
    for field in fields.values():
        field.annotation, field.metadata = _unbounded(field.annotation, but), []
    return list(fields.items())


def _drop_default(schema: dict[str, Any]) -> None:
    schema.pop("default", None)


def _unbounded(kind: Any, but: type | None = None) -> Any:
    """A type without what is annotated on it, or on one of a union; ``but`` keeps it."""
    if get_origin(kind) is Annotated:
        return kind if get_args(kind)[0] is but else _unbounded(get_args(kind)[0], but)
    if get_origin(kind) in (Union, UnionType):
        return Union[tuple(_unbounded(one, but) for one in get_args(kind))]  # noqa: UP007
    return kind
