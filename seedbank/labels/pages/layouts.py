"""Paper for labels, named by its own measures: sheets of a grid, and single labels."""

from dataclasses import dataclass

from seedbank.common.catalogue import text_of
from seedbank.science.quantities import Finding

_PAPERS_MM = {"A4": (210.0, 297.0), "US Letter": (215.9, 279.4)}
PAD_MM = 2.0
"""Kept clear inside each label, since sheets are fed a little askew."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the page, mm from its top left corner."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class LabelLayout:
    """A grid of equal labels in the middle of a page; a single label is a page of its own.

    Sizes and gaps in mm. Measures of the sheets as shops sell them: from memory, so print one
    page on plain paper and hold it behind a sheet first.
    """

    slug: str
    paper: str
    size: str
    page_mm: tuple[float, float]
    across: int
    down: int
    label_mm: tuple[float, float]
    gap_mm: tuple[float, float] = (0.0, 0.0)

    @property
    def name(self) -> str:
        """What it is called by its own measures; ``paper`` is empty for single labels."""
        if not self.paper:
            return text_of(Finding("label-single", {"size": self.size}))
        grid = {"across": self.across, "down": self.down}
        return text_of(Finding("label-sheet", {**grid, "paper": self.paper, "size": self.size}))

    @property
    def on_page(self) -> int:
        return self.across * self.down

    def box(self, place: int) -> Box:
        """The label at a place, counted from 0 along the rows. Raises ValueError: beyond them."""
        if not 0 <= place < self.on_page:
            raise ValueError(f"a place lies in 0..{self.on_page - 1}, got {place!r}")
        row, column = divmod(place, self.across)
        (width, height), (gap_x, gap_y) = self.label_mm, self.gap_mm
        left = (self.page_mm[0] - self.across * width - (self.across - 1) * gap_x) / 2
        top = (self.page_mm[1] - self.down * height - (self.down - 1) * gap_y) / 2
        return Box(left + column * (width + gap_x), top + row * (height + gap_y), width, height)


def _sheet(
    slug: str,
    paper: str,
    grid: tuple[int, int],
    label: tuple[float, float],
    gap_x: float = 0.0,
    size: str = "",
) -> LabelLayout:
    """A sheet; ``size`` names the label where it is cut in other units than mm."""
    across, down = grid
    size = size or f"{label[0]:g} × {label[1]:g} mm"
    return LabelLayout(slug, paper, size, _PAPERS_MM[paper], across, down, label, (gap_x, 0.0))


def _single(slug: str, width: float, height: float) -> LabelLayout:
    size = f"{width:g} × {height:g} mm"
    return LabelLayout(slug, "", size, (width, height), 1, 1, (width, height))


LAYOUTS = {
    one.slug: one
    for one in (
        _sheet("a4-3x7", "A4", (3, 7), (63.5, 38.1), 2.54),
        _sheet("a4-2x7", "A4", (2, 7), (99.1, 38.1), 2.54),
        _sheet("a4-3x8", "A4", (3, 8), (70.0, 36.0)),
        _sheet("a4-4x10", "A4", (4, 10), (48.5, 25.4)),
        _sheet("a4-2x4", "A4", (2, 4), (99.1, 67.7), 2.54),
        _sheet("letter-3x10", "US Letter", (3, 10), (66.675, 25.4), 3.175, "2⅝ × 1 in"),
        _sheet("letter-2x5", "US Letter", (2, 5), (101.6, 50.8), 4.7625, "4 × 2 in"),
        _sheet("letter-2x7", "US Letter", (2, 7), (101.6, 33.867), 4.7625, "4 × 1⅓ in"),
        _single("single-62x29", 62.0, 29.0),
        _single("single-89x36", 89.0, 36.0),
        _single("single-54x25", 54.0, 25.0),
        _single("single-100x50", 100.0, 50.0),
    )
}
"""Every layout by the name it has in addresses."""
