"""The one catalogue of sentences: what an answer found, in words and in the reader's units.

A finding is a code with the numbers, names and days in it (``science.quantities.Finding``). Its
sentence is the message of that code in ``words/en/``, one file a room, written in Fluent, an open
format made for translation (projectfluent.org): a second language is a second folder.

Numbers are shown by functions of the message, named for what they show: ``{ CHANCE($p_now) }``.
``COUNT ONE_OF DECIMALS RATE PERCENT CHANCE ABOUT BRIEF_CHANCE DAY DAY_OF_YEAR MONTH ROUGH_DAY YEAR
CM METRES SQUARE_METRES GRAMS CELSIUS PER_METRE PER_SQUARE_METRE``.

What isn't known (None, or not finite) reads ``unknown``, by which a message can choose:
``{ $seeds -> [unknown] some seed *[other] { COUNT($seeds) } seeds }``.
"""

import re
from collections.abc import Callable, Hashable, Iterable
from datetime import date, timedelta
from functools import cache, partial
from importlib.resources import files
from math import isfinite
from typing import Any, Final

from seedbank.common.local_format import Local
from seedbank.science.quantities import Finding, Value
from seedbank.settings import Units

PLAIN: Final = Local(Units.METRIC, "iso")
"""How the API and the command line write: metric, days as ISO 8601."""
UNKNOWN: Final = "unknown"
_MESSAGE = re.compile(r"^(?=-?[a-z][\w-]* =)", re.MULTILINE)
_MOST_REMEMBERED = 5000  # sentences
_LONGEST_PUT_IN = 2000  # characters
_BREAKS = re.compile(r" *\n *")  # a message may be broken over lines
_SIZES = {
    "CM": "cm", "METRES": "m", "SQUARE_METRES": "m2", "GRAMS": "g", "CELSIUS": "c",
    "PER_METRE": "per_m", "PER_SQUARE_METRE": "per_m2",
}  # fmt: skip
_VALUES = re.compile(r"\$(\w+)")
_MENTIONED = re.compile(r"\{ ?(-?[a-z][\w-]*)")


class NoWordsError(LookupError):
    """A code without a message, or a message that asks for a number the finding doesn't carry."""


def text_of(finding: Finding, local: Local = PLAIN, part: str = "") -> str:
    """The finding's sentence, as this reader writes numbers, days and sizes.

    ``part`` names an attribute of its message instead, as ``mend``.

    Raises NoWordsError: its code has no message, or the message needs more than it carries.
    """
    return _catalogue(local).text(finding, part)


def choice_words(code: str, choices: Iterable[str | float]) -> dict[str, str]:
    """The word for each choice, by the message that chooses by ``$choice``."""
    return {str(choice): text_of(Finding(code, {"choice": choice})) for choice in choices}


def codes() -> frozenset[str]:
    """Every code that has a message."""
    return frozenset(_messages())


@cache
def values_in(code: str) -> frozenset[str]:
    """Names of all that the message of this code tells, those it takes in by reference too."""
    message = _messages()[code].partition("\n    .")[0]
    inner = (values_in(one) for one in _MENTIONED.findall(message))
    return frozenset(_VALUES.findall(message)).union(*inner)


@cache
def _messages() -> dict[str, str]:
    """The messages of every file by code, not yet parsed: few are needed at a time."""
    found: dict[str, str] = {}
    for file in sorted((files(__package__) / "words/en").iterdir(), key=lambda one: one.name):
        for message in _MESSAGE.split(file.read_text(encoding="utf-8"))[1:]:
            code = message[: message.index(" =")]
            if code in found:
                raise NoWordsError(f"{file.name}: {code!r} has a message already")
            found[code] = message
    return found


class _Day(str):
    """A day as this reader writes it, also where a message names it without ``DAY``."""

    day: date

    def __new__(cls, day: date, local: Local) -> "_Day":
        written = super().__new__(cls, local.day(day))
        written.day = day
        return written


class _Several(str):
    """Several as this reader lists them, joined by "and" where a message doesn't say ``ONE_OF``."""

    each: list[str]

    def __new__(cls, each: list[str], local: Local) -> "_Several":
        written = super().__new__(cls, local.listed(each))
        written.each = each
        return written


def _hashable(value: Value) -> Hashable:
    """A value to remember a sentence by; a clause within it goes by all that it says."""
    if isinstance(value, Finding):
        values = value.values.items()
        return value.code, *((name, _hashable(one), type(one)) for name, one in values)
    if isinstance(value, tuple):
        return tuple((_hashable(one), type(one)) for one in value)
    return value


class _Catalogue:
    """The messages as one reader reads them, each parsed when it is first needed."""

    def __init__(self, local: Local) -> None:
        from fluent.runtime import FluentBundle  # slow to import: loaded with the first sentence

        self._local = local
        self._bundle = FluentBundle(["en-GB"], functions=self._functions(), use_isolating=False)
        self._parsed: set[str] = set()
        self._made: dict[tuple[object, ...], str] = {}

    def text(self, finding: Finding, part: str = "") -> str:
        """Its sentence; the same again is not made again."""
        key = (part, _hashable(finding))
        known = self._made.get(key)
        if known is None:
            if len(self._made) >= _MOST_REMEMBERED:
                self._made.clear()
            known = self._made[key] = self._make(finding, part)
        return known

    def _make(self, finding: Finding, part: str) -> str:
        self._parse(finding.code)
        message = self._bundle.get_message(finding.code)
        pattern = message.attributes.get(part) if part else message.value
        if pattern is None:
            raise NoWordsError(f"the message {finding.code!r} says nothing of {part!r}")
        values = {name: self._shown(value) for name, value in finding.values.items()}
        # The library puts no text over 2,500 characters in; long lists stand aside meanwhile.
        long = {
            f"\ue000{name}\ue001": value
            for name, value in values.items()
            if isinstance(value, str) and len(value) > _LONGEST_PUT_IN
        }
        values |= {mark[1:-1]: mark for mark in long}
        text, faults = self._bundle.format_pattern(pattern, values)
        if faults:
            raise NoWordsError(f"{finding.code}: {faults[0]}; it carries {sorted(finding.values)}")
        text = _BREAKS.sub(" ", str(text))
        for mark, value in long.items():
            text = text.replace(mark, value)
        return text

    def _parse(self, code: str) -> None:
        if code in self._parsed:
            return
        message = _messages().get(code)
        if message is None:
            raise NoWordsError(f"no message has the code {code!r}")
        from fluent.runtime import FluentResource

        for mentioned in _MENTIONED.findall(message):
            self._parse(mentioned)
        self._bundle.add_resource(FluentResource(message))
        self._parsed.add(code)  # last: other threads take a message for there from now on

    def _shown(self, value: Value) -> object:
        """A value as messages take it: a finding as its sentence, several joined by "and"."""
        if isinstance(value, Finding):
            return self.text(value)
        if isinstance(value, tuple):
            return _Several([str(self._shown(one)) for one in value], self._local)
        if isinstance(value, bool):
            return "yes" if value else "no"
        if value is None:
            return UNKNOWN
        if isinstance(value, date):
            return _Day(value, self._local)
        if isinstance(value, float):
            if not isfinite(value):
                return UNKNOWN
            value = int(value) if value.is_integer() else value
        if isinstance(value, int | float):  # 2027 is a year; COUNT keeps thousands apart
            from fluent.runtime.types import fluent_number

            return fluent_number(value, useGrouping=False, maximumFractionDigits=6)
        return value

    def _functions(self) -> dict[str, Callable[..., Any]]:
        local = self._local
        return {
            "COUNT": local.number,
            "ONE_OF": lambda several: local.listed(several.each, "or"),
            "DECIMALS": lambda value, digits=1: local.number(value, int(digits)),
            "RATE": lambda value: local.number(value, 1 if value < 10 else 0),
            "PERCENT": lambda pct: f"{local.number(pct)} %",
            "AGE": self._age,
            "CHANCE": lambda p: self._chance("chance", p),
            "ABOUT": lambda p: self._chance("chance-about", p),
            "BRIEF_CHANCE": lambda p: self._chance("chance-brief", p),
            "DAY": str,
            "DAY_OF_YEAR": lambda day: local.day_and_month(
                date(2025, 1, 1) + timedelta(min(day, 365) - 1)
            ),
            "MONTH": lambda day: local.month(day.day),
            "ROUGH_DAY": local.rough_day,
            "YEAR": lambda year: str(int(year)),
            **{name: partial(local.size, measure) for name, measure in _SIZES.items()},
        }

    def _age(self, years: float) -> str:
        """An age in months where it is under two years."""
        if years >= 2.0:
            return self.text(Finding("age-in-years", {"years": float(years)}))
        return self.text(Finding("age-in-months", {"months": round(12 * float(years))}))

    def _chance(self, code: str, chance: float) -> str:
        """A chance in whole per cent that never calls the nearly certain certain; our choice."""
        edge = "low" if 0 < chance < 0.01 else "high" if 0.99 < chance < 1 else "none"
        pct = f"{100 * float(chance):.0f}"
        return self.text(Finding(code, {"pct": pct, "edge": edge}))


_catalogue = cache(_Catalogue)
