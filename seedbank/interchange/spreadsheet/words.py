"""Words of lists in six languages, as the readers of cells know them.

Headings and choices are looked up whole. Amounts and days are put into the English words whose
grammar is known (``amounts``, ``days``); months are those of Unicode's CLDR, as Babel carries it.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from functools import cache, lru_cache
from typing import Final

from babel import Locale

from seedbank.facts import loaders
from seedbank.facts.names import plain_letters
from seedbank.facts.tables import parts
from seedbank.interchange.spreadsheet.short_dates import MONTHS

LANGUAGES: Final = ("de", "fr", "es", "it", "nl")
_NEAR: Final = 90  # of a hundred, how near a misspelt heading must come; our choice
_SHORTEST: Final = 6  # letters of a heading that may be misspelt; our choice


def bare_form(text: str) -> str:
    """In lower case without accents, stops and doubled spaces."""
    plain = plain_letters(text).replace("’", "'")
    return " ".join(re.sub(r"[.:*?_\"]+", " ", plain).split())


def choice_of(use: str, text: str) -> str | None:
    """What a cell's words stand for under ``use`` of the table; None if none, or two things."""
    meanings = set(_meanings(use).get(bare_form(text), {}).values())
    return meanings.pop() if len(meanings) == 1 else None


def language_of(headings: Iterable[str]) -> str:
    """The language that most headings are words of; empty if they are of none."""
    found = Counter(
        language for one in headings for language in _meanings("heading").get(bare_form(one), {})
    )
    return max(found, key=lambda one: found[one], default="")


def heading_meaning(text: str, language: str) -> str | None:
    """The meaning of a heading, which may have a slip in it; ``language`` is the list's.

    None if it has none here, or two and the language doesn't tell.
    """
    bare = bare_form(text)
    exact = _meanings("heading").get(bare)
    if exact is not None:
        return exact.get(language) or choice_of("heading", text)
    if len(bare) < _SHORTEST:
        return None
    from rapidfuzz import fuzz  # here, since most starts never come to it

    near = {
        meaning
        for words, meanings in _meanings("heading").items()
        if len(words) >= _SHORTEST and fuzz.ratio(bare, words) >= _NEAR
        for meaning in meanings.values()
    }
    return near.pop() if len(near) == 1 else None


def amount_in_english(written: str) -> str:
    """An amount, in plain form, with the words of other languages put into English."""
    return _in_english("amount", written)


@lru_cache(maxsize=8192)
def day_in_english(written: str) -> str:
    """A day, month, season or year, in plain form, put into English."""
    if not any(sign.isalpha() for sign in written):
        return written
    text = re.sub(r"(?<=\d)(?:er|º|ª|e)?\.?\s+(?:de\s+|d')?(?=[^\W\d])", " ", written)
    text = re.sub(r"(?<=[^\W\d])\.?\s+(?:del?|van|di)\s+(?=\d{4})", " ", text)
    text = _MONTH.sub(lambda found: _months().get(bare_form(found[0]), found[0]), text)
    return _in_english("day", text)


@cache
def _meanings(use: str) -> Mapping[str, Mapping[str, str]]:
    """Words to what they stand for, by language."""
    found: dict[str, dict[str, str]] = defaultdict(dict)
    for row in loaders.list_words():
        if row.use == use:
            for words in parts(row.words):
                found[bare_form(words)][row.language] = row.meaning
    return found


def _pattern(words: Iterable[str]) -> re.Pattern[str]:
    longest = sorted(words, key=len, reverse=True)
    return re.compile(rf"(?<![^\W\d])(?:{'|'.join(map(re.escape, longest))})(?![^\W\d])\.?")


@cache
def _written(use: str) -> tuple[re.Pattern[str], Mapping[str, str]]:
    found: dict[str, str] = {}
    for row in loaders.list_words():
        if row.use == use and row.language != "en":
            for words in parts(row.words):
                found[words.casefold()] = row.meaning
                found[bare_form(words)] = row.meaning
    return _pattern(found), found


def _in_english(use: str, written: str) -> str:
    pattern, english = _written(use)
    text = pattern.sub(lambda found: english[found[0].rstrip(".")], written)
    return " ".join(text.split())


@cache
def accented_words() -> frozenset[str]:
    """Words known in lists, names of kinds among them, that have other letters than a to z."""
    texts = [row.words for row in loaders.list_words()]
    texts += [row.name for row in loaders.kind_names()]
    words = {word for text in texts for word in re.findall(r"[^\W\d_]+", text.casefold())}
    return frozenset(word for word in words if not word.isascii())


@cache
def _months() -> Mapping[str, str]:
    """Names of months, short and long, without accents; those that mean two are left out."""
    found: dict[str, set[str]] = defaultdict(set)
    for language in LANGUAGES:
        for width in ("wide", "abbreviated"):
            for context in ("format", "stand-alone"):
                for number, name in Locale(language).months[context][width].items():
                    for short in (bare_form(name), bare_form(name)[:3]):
                        found[short].add(MONTHS[number - 1].casefold())
    found = {name: months for name, months in found.items() if len(name) >= 3}
    return {name: months.pop() for name, months in found.items() if len(months) == 1}


_MONTH: Final = re.compile(r"[^\W\d_]{3,}\.?")
