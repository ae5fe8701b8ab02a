"""Options of a command that fill a form: names, bounds and words stand in one place."""

import inspect
from collections.abc import Callable
from enum import Enum
from functools import wraps
from types import NoneType
from typing import Annotated, Any, get_args, get_origin

import typer
from pydantic import BaseModel
from pydantic.fields import FieldInfo
from typer.models import OptionInfo


def fill_form(command: Callable[..., None]) -> Callable[..., None]:
    """The command with an option for each field of a form, in place of its parameter of that type.

    The form validates what is given; a fault in it names the field as the option is called. A field
    annotated with a ``typer.Option`` is asked for by that one.
    """
    asked = inspect.signature(command, eval_str=True)
    filled, form = next(
        (one.name, one.annotation)
        for one in asked.parameters.values()
        if inspect.isclass(one.annotation) and issubclass(one.annotation, BaseModel)
    )
    parameters: list[inspect.Parameter] = []
    for one in asked.parameters.values():
        if one.name == filled:
            parameters += [_option(name, field) for name, field in form.model_fields.items()]
        else:
            parameters.append(one.replace(kind=inspect.Parameter.KEYWORD_ONLY))

    @wraps(command)
    def run(**given: Any) -> None:
        fields = {name: given.pop(name) for name in form.model_fields}
        command(**given, **{filled: form(**fields)})

    run.__signature__ = asked.replace(parameters=parameters)  # type: ignore[attr-defined]  # read by typer
    run.__annotations__ = {one.name: one.annotation for one in parameters}
    return run


def _option(name: str, field: FieldInfo) -> inspect.Parameter:
    default = inspect.Parameter.empty if field.is_required() else field.default
    option = next((one for one in field.metadata if isinstance(one, OptionInfo)), None)
    kind = field.annotation if option else _typed(field.annotation)
    # A yes or no is said by naming it; its opposite is to leave it out.
    own = [f"--{name.replace('_', '-')}"] * (kind is bool)
    option = option or typer.Option(*own, help=field.description)
    return inspect.Parameter(
        name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=Annotated[kind, option]
    )


def _typed(annotation: Any) -> Any:
    """What the terminal can tell apart: a number, a yes or no, a word of a list; else text."""
    if get_origin(annotation) is Annotated:
        return _typed(get_args(annotation)[0])
    if NoneType in get_args(annotation):
        return _typed(get_args(annotation)[0]) | None
    known = inspect.isclass(annotation) and issubclass(annotation, int | float | Enum)
    return annotation if known else str
