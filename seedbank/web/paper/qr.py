"""QR codes drawn as rectangles, sharp at any size."""

from itertools import groupby
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fpdf import FPDF

QUIET = 4
"""Modules of clear margin that readers count on (ISO/IEC 18004, from memory)."""
_OVER_MM = 0.01  # rows reach into one another, or hairlines show between them


def draw_qr(document: "FPDF", text: str, x: float, y: float, side: float) -> None:
    """``text`` as a code that fills a square of ``side`` mm at (x, y), its margin included."""
    import segno  # only when something is printed

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
