"""PDF documents: fonts that hold most alphabets, text fitted into its room, QR codes sharp at
any size.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

import segno

from seedbank.common.safe_text import plain_text

if TYPE_CHECKING:
    from fpdf import FPDF

FACE, CODE_FACE = "Seedbank", "SeedbankCode"
_FAMILIES = {
    (FACE, ""): ("Fira Sans", 400),
    (FACE, "B"): ("Fira Sans", 700),
    (CODE_FACE, "B"): ("IBM Plex Mono", 700),
}
"""Family and weight of each face: installed packages bring them."""
_UNKNOWN = "▯"
MM_PER_POINT = 25.4 / 72
LEADING = 1.2
"""Distance of lines, in sizes of type."""


@dataclass(frozen=True, slots=True)
class Type:
    """A face: style "" or "B", size in points."""

    style: str
    size: float
    face: str = FACE

    @property
    def line_mm(self) -> float:
        return self.size * LEADING * MM_PER_POINT


def new_document(page_mm: tuple[float, float], title: str, on: date) -> "FPDF":
    """An empty document of such pages, dated by ``on`` so that it comes out the same again."""
    from fpdf import FPDF  # only when something is printed: it takes a while to load

    document = FPDF(unit="mm", format=page_mm)
    document.set_auto_page_break(False)
    document.set_margins(0, 0, 0)
    document.set_title(plain_text(title))
    document.set_lang("en-GB")
    document.set_creation_date(datetime(on.year, on.month, on.day, tzinfo=UTC))
    for face, style in _FAMILIES:
        document.add_font(face, style, _font_file(face, style))
    document.set_font(FACE, "", 10)
    return document


def _font_file(face: str, style: str) -> Path:
    import fontpkg

    family, weight = _FAMILIES[face, style]
    return Path(fontpkg.path(family, weight))


@cache
def _letters() -> frozenset[int]:
    from fontTools.ttLib import TTFont

    with TTFont(_font_file(FACE, ""), lazy=True) as font:
        return frozenset(font.getBestCmap())


def printable(text: str) -> str:
    """``text`` on one line, a box for each sign that the fonts lack."""
    return "".join(sign if ord(sign) in _letters() else _UNKNOWN for sign in plain_text(text))


def use(document: "FPDF", face: Type) -> None:
    """Write in this face from now on."""
    document.set_font(face.face, face.style, face.size)


def wrapped(
    document: "FPDF", text: str, face: Type, width_mm: float, most: int | None = None
) -> list[str]:
    """``text`` in lines no wider than ``width_mm``, words broken only where one is wider.

    Beyond ``most`` lines the rest is left out, which an ellipsis marks.
    """
    use(document, face)

    def wide(line: str) -> bool:
        return document.get_string_width(line) > width_mm

    lines = [""]
    for word in printable(text).split(" "):
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if not wide(longer):
            lines[-1] = longer
            continue
        for piece in _pieces(word, wide):
            lines += [piece] if lines[-1] else []
            lines[-1] = piece
    if most is None or len(lines) <= most:
        return lines
    last = lines[most - 1]
    while last and wide(f"{last}…"):
        last = last[:-1].rstrip()
    return [*lines[: most - 1], f"{last}…"]


def breaks_a_word(document: "FPDF", text: str, face: Type, width_mm: float) -> bool:
    """Whether some word of ``text`` is wider than that."""
    use(document, face)
    return any(document.get_string_width(word) > width_mm for word in printable(text).split(" "))


def _pieces(word: str, wide: Callable[[str], bool]) -> Iterator[str]:
    """A word in pieces that aren't too wide, each at least a sign long."""
    while wide(word) and len(word) > 1:
        cut = next((n for n in range(len(word) - 1, 1, -1) if not wide(word[:n])), 1)
        yield word[:cut]
        word = word[cut:]
    yield word


def write(document: "FPDF", x: float, y: float, lines: Sequence[str], face: Type) -> float:
    """Lines from (x, y) downwards, mm; returns where the next one would begin."""
    use(document, face)
    for line in lines:
        document.text(x, y + 0.8 * face.line_mm, line)
        y += face.line_mm
    return y


if TYPE_CHECKING:
    from fpdf import FPDF

QUIET = 4
"""Modules of clear margin that readers count on (ISO/IEC 18004, from memory)."""
_OVER_MM = 0.01  # rows reach into one another, or hairlines show between them


def draw_qr(document: "FPDF", text: str, x: float, y: float, side: float) -> None:
    """``text`` as a code that fills a square of ``side`` mm at (x, y), its margin included."""

    modules = segno.make(text, error="m", micro=False, boost_error=False).matrix
    size = side / (len(modules) + 2 * QUIET)
    document.set_fill_color(0)
    for row, line in enumerate(modules):
        at = 0
        for dark, run in groupby(line):
            length = len(list(run))
            if dark:
                document.rect(
                    x + (QUIET + at) * size,
                    y + (QUIET + row) * size,
                    length * size,
                    size + _OVER_MM,
                    style="F",
                )
            at += length
