"""Reading the guide: its commands, the answers it shows, and whether a real answer holds them."""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

_BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
ANYTHING = "…"


@dataclass(frozen=True, slots=True)
class Step:
    """A command of the guide and the answer shown below it, with the line it stands on."""

    line: int
    command: str
    shown: str


def read_steps(guide: str) -> list[Step]:
    """Every ``sh`` block that calls curl, each with the ``json`` or ``http`` block after it.

    Raises ValueError when a command has no answer or an answer no command: both would go unread.
    """
    steps: list[Step] = []
    asked: tuple[int, str] | None = None
    for block in _BLOCK.finditer(guide):
        line = guide.count("\n", 0, block.start()) + 1
        language, text = block.groups()
        if language == "sh" and "curl" in text:
            if asked:
                raise ValueError(f"line {asked[0]}: no answer is shown")
            asked = (line, text)
        elif language in ("json", "http"):
            if not asked:
                raise ValueError(f"line {line}: an answer without a command")
            steps.append(Step(*asked, text))
            asked = None
    if asked:
        raise ValueError(f"line {asked[0]}: no answer is shown")
    return steps


def differences(shown: str, real: str) -> list[str]:
    """Where the real answer doesn't hold what the guide shows; both may begin with headers."""
    shown_head, shown_body = _split(shown)
    real_head, real_body = _split(real)
    headers = {line.lower() for line in real_head}
    faults = [
        f"no header {line!r}"
        for line in shown_head
        if not any(_same_text(line.lower(), header) for header in headers)
    ]
    if shown_body:
        body = json.loads(real_body, parse_float=Decimal, parse_int=Decimal)
        expected = json.loads(shown_body, parse_float=Decimal, parse_int=Decimal)
        faults += _missing(expected, body, "")
    return faults


def _split(answer: str) -> tuple[list[str], str]:
    answer = answer.replace("\r\n", "\n").strip()
    if not answer.startswith("HTTP/"):
        return [], answer
    head, _, body = answer.partition("\n\n")
    return head.split("\n"), body.strip()


def _missing(shown: Any, real: Any, where: str) -> Iterator[str]:
    """What of ``shown`` isn't in ``real``: names may be left out of an object, items of a list."""
    if isinstance(shown, dict) and isinstance(real, dict):
        for name, value in shown.items():
            if name in real:
                yield from _missing(value, real[name], f"{where}.{name}")
            else:
                yield f"{where}: no {name!r}"
    elif isinstance(shown, list) and isinstance(real, list):
        yield from _missing_items(shown, real, where)
    elif not _same(shown, real):
        yield f"{where}: shown {shown}, got {real}"


def _missing_items(shown: list[Any], real: list[Any], where: str) -> Iterator[str]:
    if not shown and real:
        yield f"{where}: shown empty, got {len(real)}"
    rest = iter(real)
    for number, item in enumerate(shown):
        tried = []
        for candidate in rest:
            faults = list(_missing(item, candidate, f"{where}[{number}]"))
            if not faults:
                break
            tried.append(faults)
        else:
            nearest = min(tried, key=len, default=[f"{where}[{number}]: none left"])
            yield from nearest
            return


def _same(shown: Any, real: Any) -> bool:
    if isinstance(shown, str) and isinstance(real, str):
        return _same_text(shown, real)
    if isinstance(shown, Decimal) and isinstance(real, Decimal):
        last_digit = Decimal(1).scaleb(int(shown.as_tuple().exponent))
        return abs(real - shown) * 2 <= last_digit
    return type(shown) is type(real) and bool(shown == real)


def _same_text(shown: str, real: str) -> bool:
    pattern = ".*".join(re.escape(part) for part in shown.split(ANYTHING))
    return re.fullmatch(pattern, real, re.DOTALL) is not None
