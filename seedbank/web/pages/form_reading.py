"""Forms as a browser sends them, read into form models, with faults by field."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, partial
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError

from seedbank.common.catalogue import text_of
from seedbank.common.errors import Doubted, StockFault
from seedbank.common.local_format import Local
from seedbank.common.safe_text import field_error, limit_of
from seedbank.science.quantities import Finding

FormT = TypeVar("FormT", bound=BaseModel)
_STEP = re.compile(r"([^.\[\]]+)|\[(\d{1,3})\]")
_NUMBER = re.compile(r"[-+]?\d+([.,]\d*)?|[-+]?[.,]\d+")
_LISTED = re.compile(r"\[\d+\]")


@dataclass(frozen=True, slots=True)
class Filled(Generic[FormT]):
    """A form as typed: what each field holds, what is wrong with which, and the form if nothing.

    ``values`` and ``errors`` go by a field's dotted path, like ``amount.seeds`` or
    ``counts[0].normal``; errors about the form as a whole go by the empty path. ``doubted`` is the
    field of a doubt, to be settled by ticking that it is so.
    """

    values: Mapping[str, str] = field(default_factory=dict)
    errors: Mapping[str, str] = field(default_factory=dict)
    form: FormT | None = None
    doubted: str = ""

    def value(self, path: str, default: object = "") -> str:
        """What was typed, or ``default`` where nothing was."""
        return self.values.get(path, "" if default is None else str(default))

    def error(self, path: str) -> str:
        """What is wrong with a field; empty if nothing."""
        return self.errors.get(path, "")

    def touched(self, paths: Iterable[str]) -> bool:
        """Whether something was typed in one of these fields, or is wrong with it."""
        return any(self.value(path) or self.error(path) for path in paths)

    def others(self, paths: Iterable[str]) -> list[str]:
        """What is wrong but has no field of its own among ``paths``."""
        return [text for path, text in self.errors.items() if path not in set(paths)]

    def faulted(self, fault: StockFault, local: Local) -> "Filled[FormT]":
        """The same, refused by the collection."""
        text = f"{fault.text_for(local)} {fault.mend_for(local)}"
        doubted = fault.field if isinstance(fault, Doubted) else ""
        if doubted:
            text = text_of(Finding("tick-it-is-so", {"doubt": text}), local)
        return replace(self, form=None, errors={**self.errors, fault.field: text}, doubted=doubted)


def read_form(
    model: type[FormT],
    typed: Mapping[str, str],
    local: Local,
    given: Mapping[str, Any] | None = None,
) -> Filled[FormT]:
    """Read ``typed`` as ``model``; fields left empty count as left out.

    ``given`` are values the page itself knows, by the names of the model's fields.
    """
    shapes = _shapes(model)
    nested: dict[str, Any] = {}
    for path, text in typed.items():
        shape = shapes.get(_LISTED.sub("[]", path))
        if shape is not None and text.strip():
            _put(nested, path, _read(path, text.strip(), shape, local))
    try:
        form = model.model_validate(_packed({**nested, **(given or {})}))
    except ValidationError as refused:
        return Filled(typed, _as_refused(refused, local))
    return Filled(typed, {}, form)


def _as_refused(refused: ValidationError, local: Local) -> dict[str, str]:
    errors: dict[str, str] = {}
    for one in refused.errors():
        field = field_error({**one, "loc": ("body", *one["loc"])}).field
        limit = limit_of({**one}, partial(local.shown, field) if local.unit(field) else float)
        errors.setdefault(field, text_of(limit, local))
    return errors


def _read(path: str, text: str, shape: str, local: Local) -> object:
    """Text as the JSON value it stands for; text it is left, where it doesn't read as one."""
    if shape == "boolean":
        return {"yes": True, "on": True, "true": True, "no": False, "false": False}.get(text, text)
    if shape not in ("integer", "number"):
        return text
    bare = text.replace("\u00a0", "").replace("\u202f", "").replace(" ", "")
    if not _NUMBER.fullmatch(bare) or len(bare) > 30:
        return text
    number = float(bare.replace(",", "."))
    if shape == "integer":
        return int(number) if number.is_integer() else text
    return local.kept(path, number)


@cache
def _shapes(model: type[BaseModel]) -> dict[str, str]:
    """Type of each leaf of the model by its path, ``[]`` for any place in a list."""
    schema = model.model_json_schema()
    found: dict[str, str] = {}
    _walk(schema, schema.get("$defs", {}), "", found)
    return found


def _walk(
    schema: Mapping[str, Any], named: Mapping[str, Any], path: str, found: dict[str, str]
) -> None:
    if "$ref" in schema:
        schema = named[schema["$ref"].rsplit("/", 1)[-1]]
    choices: Sequence[Mapping[str, Any]] = schema.get("anyOf", ())
    for choice in choices:
        if choice.get("type") != "null":
            _walk(choice, named, path, found)
    if schema.get("type") == "array":
        _walk(schema["items"], named, path + "[]", found)
    elif "properties" in schema:
        for name, inner in schema["properties"].items():
            _walk(inner, named, f"{path}.{name}" if path else name, found)
    elif not choices:
        found[path] = schema.get("type", "string")


def _put(nested: dict[str, Any], path: str, value: object) -> None:
    steps: list[str | int] = [
        int(match[2]) if match[2] else match[1] for match in _STEP.finditer(path)
    ]
    inner: dict[Any, Any] = nested
    for step in steps[:-1]:
        inner = inner.setdefault(step, {})
    inner[steps[-1]] = value


def _packed(value: Any) -> Any:
    """Places of a list, kept by number so far, as the list."""
    if not isinstance(value, dict):
        return value
    if value and all(isinstance(key, int) for key in value):
        return [_packed(value[key]) for key in sorted(value)]
    return {key: _packed(inner) for key, inner in value.items()}


_BETWEEN = re.compile(r"[,;\s]+")


def typed_codes(text: str) -> list[str]:
    """The codes, however they are set apart."""
    return [one for one in _BETWEEN.split(text) if one]
