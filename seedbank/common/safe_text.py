"""Hostile or odd text made safe to print anywhere, and validation errors in plain words."""

import json
import unicodedata
from collections.abc import Sequence
from typing import Any

from pydantic import BaseModel, Field

_UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_JOINERS = "\u200c\u200d"  # letters of several scripts join by them


def plain_text(text: str) -> str:
    """``text`` on one line: breaks and tabs as spaces, other control and format signs left out.
    Spaces that don't break stay.

    Format signs include those that turn the reading direction; letters of every script stay.
    """
    spaced = "".join(" " if sign in "\r\n\t\v\f\x85\u2028\u2029" else sign for sign in text)
    seen = "".join(sign for sign in spaced if _is_seen(sign))
    return " ".join(word for word in seen.split(" ") if word)


def shortened(text: str, most: int) -> str:
    """At most ``most`` characters of ``text``, an ellipsis marking what is left out."""
    text = plain_text(text)
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _is_seen(sign: str) -> bool:
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


_LIMITS = {
    "greater_than": "give more than {gt}",
    "greater_than_equal": "give {ge} or more",
    "less_than": "give less than {lt}",
    "less_than_equal": "give {le} or less",
    "string_too_short": "write text at least {min_length} characters long",
    "string_too_long": "write text at most {max_length} characters long",
    "too_short": "give at least {min_length}",
    "too_long": "give at most {max_length}",
    "enum": "use one of {expected}",
    "literal_error": "use one of {expected}",
    "string_pattern_mismatch": "write it to the pattern {pattern}",
    "missing": "this has to be given",
    "extra_forbidden": "there is no such field; check its spelling or leave it out",
    "int_type": "give a whole number",
    "int_from_float": "give a whole number",
    "int_parsing": "give a whole number",
    "float_type": "give a number",
    "float_parsing": "give a number",
    "finite_number": "give a finite number",
    "bool_type": "give true or false",
    "bool_parsing": "give true or false",
    "string_type": "write text in quotes",
    "string_unicode": "write text in valid Unicode",
    "list_type": "give a list",
    "dict_type": "give an object: names and their values",
    "model_attributes_type": "give an object with named fields",
    "json_invalid": "send valid JSON",
}


_NAME = "[key]"  # pydantic's last step to a name in an object, as against the value it names


def field_error(one: dict[str, Any]) -> FieldError:
    """One entry of pydantic's error list, translated."""
    context = one.get("ctx", {})
    pattern = _LIMITS.get(one["type"])
    if one["type"] in ("too_short", "too_long") and isinstance(one.get("input"), str):
        pattern = _LIMITS[f"string_{one['type']}"]
    mend = pattern.format(**context) if pattern else str(one["msg"]).removeprefix("Value error, ")
    if one["loc"][-1:] == (_NAME,):
        mend = f"{mend}, the name itself"
    if one["type"] == "model_attributes_type" and isinstance(one.get("input"), bytes):
        mend = "send the body as JSON, with the header Content-Type: application/json"
    value = None if one["type"] == "missing" else shown(one.get("input"))
    # Where JSON breaks off pydantic gives the place in the text, which is no field.
    field = "" if one["type"] == "json_invalid" else _path(one["loc"])
    return FieldError(field=field, value=value, mend=mend)


def _path(location: Sequence[str | int]) -> str:
    """``("body", "replicates", 0, "normal")`` as ``replicates[0].normal``."""
    path = ""
    for step in location[1:-1] if location[-1] == _NAME else location[1:]:
        path += f"[{step}]" if isinstance(step, int) else f".{step}" if path else step
    return path
