"""What a thing consists of, declared once: its forms, its answer and its table derive from it."""

from copy import copy
from types import UnionType
from typing import Annotated, Any, Union, dataclass_transform, get_args, get_origin

from pydantic import BaseModel, Field
from pydantic_core import PydanticUndefined


def optional(description: str, *examples: object, default: object) -> Any:
    """A field that has a default. Of two examples the second is what it is changed to."""
    return Field(default=default, description=description, examples=list(examples))


@dataclass_transform(kw_only_default=True, field_specifiers=(Field, optional))
class Fields(BaseModel):
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
    model.model_rebuild(force=True)


def give_every(model: type[BaseModel]) -> None:
    """Have an answer give each field of a thing, without its bounds: old rows may lie outside."""
    things = [one for one in model.__bases__ if issubclass(one, Fields)]
    names = {name for thing in things for name in thing.model_fields}
    for name in names:
        field = copy(model.model_fields[name])
        field.default, field.default_factory = PydanticUndefined, None
        field.annotation, field.metadata = _unbounded(field.annotation), []
        model.model_fields[name] = field
    if names:
        model.model_rebuild(force=True)


def _drop_default(schema: dict[str, Any]) -> None:
    schema.pop("default", None)


def _unbounded(kind: Any) -> Any:
    """A type without what is annotated on it, or on one of a union."""
    if get_origin(kind) is Annotated:
        return _unbounded(get_args(kind)[0])
    if get_origin(kind) in (Union, UnionType):
        return Union[tuple(_unbounded(one) for one in get_args(kind))]  # noqa: UP007
    return kind
