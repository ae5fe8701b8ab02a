"""Options of a command that fill a form: names, bounds and words stand in one place."""

import inspect
from collections.abc import Callable, Collection
from enum import Enum
from functools import wraps
from types import NoneType
from typing import Annotated, Any, get_args, get_origin

import typer
from pydantic import BaseModel
from pydantic.fields import FieldInfo
from typer.models import OptionInfo

from seedbank.common.forms import ChangeForm


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


Given = dict[str, Any]
"""What was typed for the fields of a form, a nested one's under its name."""


def options_of(
    form: type[BaseModel], *, leave_out: Collection[str] = ()
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Give a command an option for each field of a form, and what is typed as its ``given``.

    The form stays the command's to fill, so that what is left out stays left out. Fields of a form
    within it stand beside the others.
    """
    fields = {name: one for name, one in form.model_fields.items() if name not in leave_out}
    within = {name: inner for name, one in fields.items() if (inner := _inner(one.annotation))}
    optional = issubclass(form, ChangeForm)

    def decorate(command: Callable[..., None]) -> Callable[..., None]:
        asked = inspect.signature(command, eval_str=True)
        parameters: list[inspect.Parameter] = []
        for one in asked.parameters.values():
            if one.name != "given":
                parameters.append(one.replace(kind=inspect.Parameter.KEYWORD_ONLY))
                continue
            for name, field in fields.items():
                if name in within:
                    inner = within[name].model_fields
                    parameters += [_left_out(*each, optional=True) for each in inner.items()]
                else:
                    parameters.append(_left_out(name, field, optional=optional))

        @wraps(command)
        def run(**typed: Any) -> None:
            given: Given = {}
            for name in fields:
                inner = within[name].model_fields if name in within else [name]
                told = {each: typed.pop(each) for each in inner}
                told = {each: value for each, value in told.items() if value is not None}
                if name not in within:
                    given |= told
                elif told:
                    given[name] = told
            command(**typed, given=given)

        run.__signature__ = asked.replace(parameters=parameters)  # type: ignore[attr-defined]  # read by typer
        run.__annotations__ = {one.name: one.annotation for one in parameters}
        return run

    return decorate


def _inner(annotation: Any) -> type[BaseModel] | None:
    """The form a field holds, if it holds one."""
    if get_origin(annotation) is Annotated or NoneType in get_args(annotation):
        return _inner(get_args(annotation)[0])
    return annotation if inspect.isclass(annotation) and issubclass(annotation, BaseModel) else None


def _left_out(name: str, field: FieldInfo, *, optional: bool) -> inspect.Parameter:
    """An option that is None where it isn't typed."""
    needed = field.is_required() and not optional
    kind, own = _typed(field.annotation), [f"--{name.replace('_', '-')}"]
    if name == "confirmed":
        own = ["--yes"]
    elif kind in (bool, bool | None) and optional:
        own = []
    option = typer.Option(*own, help=field.description)
    return inspect.Parameter(
        name,
        inspect.Parameter.KEYWORD_ONLY,
        default=inspect.Parameter.empty if needed else None,
        annotation=Annotated[kind if needed else kind | None, option],
    )


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
    if get_origin(annotation) is list:
        return list[_typed(get_args(annotation)[0])]  # type: ignore[misc]  # made for typer
    known = inspect.isclass(annotation) and issubclass(annotation, int | float | Enum)
    return annotation if known else str
