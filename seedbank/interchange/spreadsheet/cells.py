"""What reading a cell of somebody's own spreadsheet gives, and kinds and varieties as people
name them.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from seedbank.facts.kinds import UnknownKind, find_kind
from seedbank.facts.names import kind_by_variety, kinds_meant, slugify
from seedbank.interchange.spreadsheet.answers import Sure
from seedbank.science.quantities import Finding

_FRACTIONS: Final = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8"}
_WHOLE_AND_PART = re.compile(r"(?:(\d{1,6}) )?(\d{1,4})/(\d{1,4})")
_THOUSANDS = re.compile(r"\d{1,3}([, ’']\d{3})+")
_PLAIN = re.compile(r"\d{1,12}([.,]\d{1,6})?|[.,]\d{1,6}")
NUMBER: Final = r"(?:\d{1,6} )?\d{1,4}/\d{1,4}|\d{1,3}(?:[, ’']\d{3})+|\d{0,12}[.,]?\d{1,12}"
_IMPOSSIBLE = re.compile(
    r"[-−]\s*[\d.,]+.*|[-+−]?(nan|inf(inity)?)|[-+−]?\d+([.,]\d+)?e[-+]?\d+|#\w+[/!?]?\w*[!?]?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Reading:
    """One cell: its text, what it was taken for, and how sure that is.

    ``choices`` are the answers there are, where its writer is asked, and ``answers`` the field of
    the form they go to.
    """

    heading: str
    text: str
    said: Finding | None
    sure: Sure
    choices: tuple[str, ...] = ()
    answers: str = ""


@lru_cache(maxsize=16_384)  # lists say the same many times
def plain_form(text: str) -> str:
    """The text in lower case, fractions of one sign written out, quotes and dashes made alike."""
    for sign, written in _FRACTIONS.items():
        text = re.sub(rf"(\d){sign}", rf"\1 {written}", text).replace(sign, written)
    text = text.replace("–", "-").replace("—", "-").replace("‘", "'").replace("’", "'")
    return " ".join(text.casefold().split())


def number_in(text: str) -> float | None:
    """A number as people write them: ``1,200``, ``0,5``, ``1 1/2``; None if it is none, or two."""
    text = text.strip()
    parted = _WHOLE_AND_PART.fullmatch(text)
    if parted is not None:
        below = int(parted[3])
        return None if below == 0 else int(parted[1] or 0) + int(parted[2]) / below
    if _THOUSANDS.fullmatch(text):
        return float(re.sub(r"[, ’']", "", text))
    return float(text.replace(",", ".")) if _PLAIN.fullmatch(text) else None


def cannot_be(text: str) -> bool:
    """Is it a number that no amount can be: below nothing, endless, not a number, an error?"""
    return _IMPOSSIBLE.fullmatch(text.strip()) is not None


def is_formula(text: str) -> bool:
    """Would a spreadsheet run it?"""
    return text.lstrip().startswith(("=", "@", "＝", "＠"))


def quoted(text: str) -> str:
    """The text between quotation marks, shortened where it is long."""
    return f"“{text if len(text) <= 60 else text[:59] + '…'}”"


_LONGEST_NAME = 6  # words of a kind's name
_BRACKETS = re.compile(r"\s*[(\[][^()\[\]]*[)\]]")
_NAME_AND_BRACKETS = re.compile(r"([^()]+)\(([^()]+)\)")
_EDGES = " -–—,;:/()'\"‘’“”"


@dataclass(frozen=True, slots=True)
class KindFound:
    """A kind by its slug, and what it was taken from; or none, and which it may be."""

    slug: str | None
    said: Finding | None = None
    choices: tuple[str, ...] = ()  # slugs, the likeliest first, where it is none


@dataclass(frozen=True, slots=True)
class NameParted:
    """What a cell with both names holds: the kind, and what is left for the variety."""

    kind: KindFound
    variety: str


@dataclass(frozen=True, slots=True)
class KnownNames:
    """What is here already: kinds (slug to name), and the kinds each variety's name belongs to."""

    kinds: Mapping[str, str]
    varieties: Mapping[str, frozenset[str]]
    chosen: Mapping[str, str]  # how the sheet names a kind, in lower case, to its slug

    def kind(self, text: str) -> KindFound:
        """The kind that a cell names."""
        wanted = self.chosen.get(name_key(text))
        if wanted is not None:
            return KindFound(wanted, Finding("sheet-as-you-say"))
        if slugify(text) in self.kinds:
            return KindFound(slugify(text))
        bare = text if kinds_meant(text) else _BRACKETS.sub("", text).strip() or text
        try:
            slug = find_kind(bare).slug
        except UnknownKind as unknown:
            choices = tuple(slug for slug in unknown.close if slug in self.kinds)
            near = tuple(self.kinds[slug] for slug in choices)
            code = "sheet-kind-of-several" if unknown.several else "sheet-kind-not-known"
            said = Finding(code, {"text": quoted(text), "kinds": near or None})
            return KindFound(None, said, choices)
        if name_key(text) == name_key(self.kinds[slug]):
            return KindFound(slug)
        return KindFound(slug, Finding("sheet-taken-as-kind", {"kind": self.kinds[slug]}))

    def narrowed(self, found: KindFound, text: str, variety: str, notes: str) -> KindFound:
        """The same, unless a word of the variety or the notes makes it another kind: ``onion`` and
        ``White bunching``. What the gardener chose, and a variety that is known, stay."""
        of_here = self.varieties.get(name_key(variety), frozenset())
        if name_key(text) in self.chosen or found.slug in of_here:
            return found
        named = text or (self.kinds[found.slug] if found.slug else "")
        slug = kind_by_variety(named, variety, notes)
        if slug is None or slug == found.slug or slug not in self.kinds:
            return found
        return KindFound(slug, Finding("sheet-taken-as-kind", {"kind": self.kinds[slug]}))

    def is_kind(self, text: str) -> bool:
        """Is this the name of a kind and of nothing else?"""
        known = name_key(text) in self.chosen or slugify(text) in self.kinds
        if not known and not kinds_meant(text) and not kinds_meant(_BRACKETS.sub("", text)):
            return False  # without looking for names that come near, which is dear
        return self.kind(text).slug is not None

    def kind_of_variety(self, name: str) -> str | None:
        """The one kind that has a variety of this name here; None if none or several have."""
        slugs = self.varieties.get(name_key(name), frozenset())
        return next(iter(slugs)) if len(slugs) == 1 else None

    def parted(self, text: str) -> NameParted:
        """A name such as ``Carrot 'Purple Lantern'`` or ``Purple Lantern (carrot)`` in its two."""
        whole = self.kind(text)
        if whole.slug is not None:
            return NameParted(whole, "")
        known = self.kind_of_variety(text)
        if known is not None:
            said = Finding("sheet-kind-has-variety", {"kind": self.kinds[known]})
            return NameParted(KindFound(known, said), text)
        bracketed = _NAME_AND_BRACKETS.fullmatch(text)
        if bracketed is not None and self.is_kind(bracketed[2]) and not self.is_kind(bracketed[1]):
            said = Finding("sheet-from", {"text": quoted(text)})
            return NameParted(KindFound(self.kind(bracketed[2]).slug, said), bracketed[1].strip())
        words = re.split(r"(?<=[\s,:;(/–—-])|(?=[\s(,:;])", text)
        words = [word for word in words if word]
        for first, last in _ends(len(words)):
            named = "".join(words[first:last]).strip(_EDGES)
            rest = ("".join(words[:first]) + "".join(words[last:])).strip(_EDGES)
            if named and rest and self.is_kind(named):
                said = Finding("sheet-from", {"text": quoted(text)})
                return NameParted(KindFound(self.kind(named).slug, said), rest)
        return NameParted(whole, text)


def _ends(number: int) -> list[tuple[int, int]]:
    """Spans of words at either end, the longest first."""
    longest = min(number - 1, 2 * _LONGEST_NAME)
    return [span for size in range(longest, 0, -1) for span in ((0, size), (number - size, number))]


def name_key(name: str) -> str:
    """Names match whatever their case and spacing."""
    return " ".join(name.casefold().split())
