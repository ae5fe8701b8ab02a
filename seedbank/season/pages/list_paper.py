"""A list of the season on paper: a box to tick, what to do, where the packet is, and why."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seedbank.common.catalogue import text_of
from seedbank.common.local_format import Local
from seedbank.science.quantities import Finding
from seedbank.season.answers import Listed, ListedItem, SeasonListAnswer
from seedbank.web.paper import CODE_FACE, Type, new_document, use, wrapped, write

if TYPE_CHECKING:
    from fpdf import FPDF

PAPERS = {"A4": (210.0, 297.0), "US Letter": (215.9, 279.4)}
_EDGE, _BOX, _CODE_WIDTH, _AFTER = 15.0, 4.5, 34.0, 2.2  # mm
_HEADING = Type("B", 18.0)
_NAME, _WHAT, _SMALL = Type("B", 11.0), Type("", 10.0), Type("", 8.5)
_CODE = Type("B", 11.0, CODE_FACE)


def draw_list(answer: SeasonListAnswer, paper: str, local: Local) -> bytes:
    """The list on pages of ``paper``, a name of ``PAPERS``, each with its heading and number."""
    document = new_document(
        PAPERS[paper], list_words("list-title", answer.listed, local), answer.on
    )
    sheet = _Sheet(document, answer, local)
    for item in answer.items:
        sheet.add(item)
    if not answer.items:
        sheet.words([list_words("list-nothing", answer.listed, local)], _WHAT)
    sheet.words([one.text_for(local) for one in answer.remarks], _SMALL)
    cautions = (Finding("list-caution", {"text": text}) for text in answer.cautions)
    sheet.words([text_of(one, local) for one in cautions], _SMALL)
    sheet.number_pages()
    return bytes(document.output())


def list_words(code: str, listed: Listed, local: Local) -> str:
    """What the catalogue has for this list, as its reader reads it."""
    return text_of(Finding(code, {"list": listed}), local)


@dataclass(slots=True)
class _Sheet:
    """Pages filled from the top; ``y`` is where the next line begins, mm."""

    document: "FPDF"
    answer: SeasonListAnswer
    local: Local
    y: float = 0.0

    def __post_init__(self) -> None:
        self._turn()

    def add(self, item: ListedItem) -> None:
        """An item, whole on one page if a page can hold it."""
        left, width = _EDGE + _BOX + 3.0, self._width - _BOX - 3.0
        beside = width - _CODE_WIDTH
        name = wrapped(self.document, item.name, _NAME, beside)
        what = wrapped(self.document, item.what.text_for(self.local), _WHAT, beside)
        why = [
            line
            for one in item.reasons
            for line in wrapped(self.document, one.text_for(self.local), _SMALL, width)
        ]
        packet = wrapped(self.document, " ".join(item.lots), _CODE, _CODE_WIDTH - 2.0, 3)
        place = wrapped(self.document, item.place, _SMALL, _CODE_WIDTH - 2.0, 2)
        words = _high(name, _NAME) + _high(what, _WHAT)
        aside = _high(packet, _CODE) + _high(place, _SMALL)
        self._keep(max(words, aside) + _high(why, _SMALL) + _AFTER)
        top = self.y
        self.document.set_line_width(0.4)
        self.document.rect(_EDGE, top + 0.3, _BOX, _BOX)
        at = write(self.document, left, top, name, _NAME)
        at = write(self.document, left, at, what, _WHAT)
        side = write(self.document, left + beside + 2.0, top, packet, _CODE)
        side = write(self.document, left + beside + 2.0, side, place, _SMALL)
        self.y = max(at, side)
        self.lines(left, why, _SMALL)
        self.y += _AFTER
        self.document.set_line_width(0.1)
        self.document.line(_EDGE, self.y - _AFTER / 2, _EDGE + self._width, self.y - _AFTER / 2)

    def words(self, texts: Sequence[str], face: Type) -> None:
        """Paragraphs over the whole width."""
        for text in texts:
            self.lines(_EDGE, wrapped(self.document, text, face, self._width), face)
            self.y += 1.0

    def lines(self, left: float, lines: Sequence[str], face: Type) -> None:
        """Lines one by one, over as many pages as they take."""
        for line in lines:
            self._keep(face.line_mm)
            self.y = write(self.document, left, self.y, [line], face)

    def number_pages(self) -> None:
        """The foot of each page, once it is known how many there are."""
        use(self.document, _SMALL)
        for page in range(1, self.document.pages_count + 1):
            self.document.page = page
            text = text_of(Finding("list-page", {"page": page, "pages": self.document.pages_count}))
            wide = self.document.get_string_width(text)
            self.document.text(self.document.w - _EDGE - wide, self.document.h - 9.0, text)

    @property
    def _width(self) -> float:
        return float(self.document.w) - 2 * _EDGE

    def _keep(self, high: float) -> None:
        """Turn the page if that much has no room on this one, but would have on a new one."""
        if self.y + high > self.document.h - _EDGE:
            self._turn()

    def _turn(self) -> None:
        self.document.add_page()
        title = wrapped(
            self.document,
            list_words("list-title", self.answer.listed, self.local),
            _HEADING,
            self._width,
        )
        self.y = write(self.document, _EDGE, _EDGE, title, _HEADING)
        head = Finding("list-head", {"on": self.answer.on, "items": len(self.answer.items)})
        shown = text_of(head, self.local)
        self.y = write(self.document, _EDGE, self.y, [shown], _SMALL) + 3.0


def _high(lines: Sequence[str], face: Type) -> float:
    return len(lines) * face.line_mm
