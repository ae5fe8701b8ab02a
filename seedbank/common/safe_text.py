"""Hostile or odd text made safe to print anywhere, and validation errors in plain words."""

import json
import unicodedata
from collections.abc import Callable, Sequence
from typing import Any

from pydantic import BaseModel, Field

from seedbank.common.catalogue import text_of
from seedbank.common.errors import Misfit
from seedbank.science.quantities import Finding, Value

_UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_JOINERS = "\u200c\u200d"  # letters of several scripts join by them


def plain_text(text: str) -> str:
    """``text`` on one line: breaks and tabs as spaces, other control and format signs left out.
    Spaces that don't break stay.

    Format signs include those that turn the reading direction; letters of every script stay.
    """
    spaced = "".join(" " if sign in "\r\n\t\v\f\x85\u2028\u2029" else sign for sign in text)
    visible = "".join(sign for sign in spaced if _is_visible(sign))
    return " ".join(word for word in visible.split(" ") if word)


def shortened(text: str, most: int) -> str:
    """At most ``most`` characters of ``text``, an ellipsis marking what is left out."""
    text = plain_text(text)
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _is_visible(sign: str) -> bool:
    return sign in _JOINERS or unicodedata.category(sign) not in _UNSEEN


class FieldError(BaseModel):
    """One field at fault."""

    field: str = Field(description="dotted path; empty: the request as a whole")
    value: Any = Field(description="what was found there, shortened")
    mend: str = Field(description="how to put it right")


def shown(value: object) -> Any:
    """A value fit to send back: short, and always valid JSON (no NaN, no stray surrogates)."""
    if value is None or isinstance(value, bool) or (isinstance(value, int) and abs(value) < 2**53):
        return value
    if isinstance(value, float) and abs(value) < float("inf"):
        return value
    if isinstance(value, bytes):  # a body that wasn't sent as JSON
        return plain(value.decode("utf-8", "replace"))
    if isinstance(value, dict | list):
        return plain(json.dumps(value, ensure_ascii=False, default=str))
    return plain(str(value))


def plain(text: str) -> str:
    """Text that always encodes, at most 400 characters."""
    text = text.encode("utf-8", "replace").decode("utf-8")
    return text if len(text) <= 400 else text[:399] + "…"


KNOWN_LIMITS = frozenset(
    {
        "greater_than",
        "greater_than_equal",
        "less_than",
        "less_than_equal",
        "string_too_short",
        "string_too_long",
        "too_short",
        "too_long",
        "enum",
        "literal_error",
        "string_pattern_mismatch",
        "missing",
        "extra_forbidden",
        "int_type",
        "int_from_float",
        "int_parsing",
        "float_type",
        "float_parsing",
        "finite_number",
        "bool_type",
        "bool_parsing",
        "string_type",
        "string_unicode",
        "list_type",
        "dict_type",
        "model_attributes_type",
        "json_invalid",
    }
)
"""Names pydantic gives to errors; each has a message ``limit-…``."""


_NAME = "[key]"  # pydantic's last step to a name in an object, as against the value it names


def field_error(one: dict[str, Any]) -> FieldError:
    """One entry of pydantic's error list, translated."""
    value = None if one["type"] == "missing" else shown(one.get("input"))
    # Where JSON breaks off pydantic gives the place in the text, which is no field.
    field = "" if one["type"] == "json_invalid" else _path(one["loc"])
    return FieldError(field=field, value=value, mend=text_of(limit_of(one)))


def limit_of(one: dict[str, Any], shown_as: Callable[[float], Value] = float) -> Finding:
    """What one entry of pydantic's error list asks for; numbers in it as ``shown_as`` gives."""
    kind, given, context = str(one["type"]), one.get("input"), one.get("ctx", {})
    if kind in ("too_short", "too_long") and isinstance(given, str):
        kind = f"string_{kind}"
    limit = Finding("as-said", {"text": str(one["msg"])})
    if isinstance(context.get("error"), Misfit):
        limit = context["error"].finding
    elif kind == "model_attributes_type" and isinstance(given, bytes):
        limit = Finding("limit-no-json")
    elif kind in KNOWN_LIMITS:
        values = {
            name: shown_as(value) if isinstance(value, int | float) else str(value)
            for name, value in context.items()
        }
        limit = Finding(f"limit-{kind.replace('_', '-')}", values)
    return Finding("limit-name-itself", {"limit": limit}) if one["loc"][-1:] == (_NAME,) else limit


def _path(location: Sequence[str | int]) -> str:
    """``("body", "replicates", 0, "normal")`` as ``replicates[0].normal``."""
    path = ""
    for step in location[1:-1] if location[-1] == _NAME else location[1:]:
        path += f"[{step}]" if isinstance(step, int) else f".{step}" if path else step
    return path
