"""Lists read back from the PDF: every line is there, within the page, with a box to tick."""

from datetime import date
from io import BytesIO

import pypdfium2
import pytest

from seedbank.common.answers import FindingAnswer
from seedbank.common.catalogue import text_of
from seedbank.common.local_format import Local
from seedbank.science.quantities import Finding
from seedbank.season.answers import Listed, ListedItem, SeasonListAnswer
from seedbank.season.pages.list_paper import PAPERS, draw_list

ON = date(2027, 2, 20)
MM = 72 / 25.4


def said(text: str) -> FindingAnswer:
    return FindingAnswer.of(Finding("as-said", {"text": text}))


def item(number: int, **more: object) -> ListedItem:
    return ListedItem.model_validate(
        {
            "name": f"Invented {number} (carrot)", "lots": [f"L{number:04}"], "place": "Shed shelf",
            "what": said(f"Sow {number} of 250 seeds"),
            "reasons": [said(f"Don't wait: reason {number}.")],
            **more,
        }
    )  # fmt: skip


def read(items: list[ListedItem], paper: str = "A4", listed: Listed = Listed.SAVE) -> list[str]:
    """Words of each page on one line."""
    answer = SeasonListAnswer(
        listed=listed, on=ON, items=items, remarks=[said("A remark.")], cautions=["Wear gloves"]
    )
    document = pypdfium2.PdfDocument(BytesIO(draw_list(answer, paper, Local())))
    pages = []
    for page in document:
        pages.append(" ".join(page.get_textpage().get_text_range().split()))
        for thing in page.get_objects():
            left, bottom, right, top = thing.get_bounds()
            assert left >= 14 * MM
            assert bottom >= 7 * MM
            assert right <= page.get_width() - 14 * MM
            assert top <= page.get_height() - 14 * MM
    document.close()
    return pages


@pytest.mark.parametrize("paper", PAPERS)
def test_every_line_is_told_once_and_pages_are_numbered(paper: str) -> None:
    pages = read([item(number) for number in range(1, 61)], paper)
    assert len(pages) > 1
    words = " ".join(pages)
    for number in range(1, 61):
        assert words.count(f"Invented {number} (carrot)") == 1
        assert words.count(f"Don't wait: reason {number}.") == 1
        assert words.count(f"L{number:04}") == 1
    for number, page in enumerate(pages, start=1):
        assert page.startswith("To save seed from As of 20 Feb 2027; 60 in all.")
        assert page.endswith(f"{number} of {len(pages)}")
    assert "A remark." in words
    assert "Caution: Wear gloves." in words


def test_each_line_has_a_box_to_tick() -> None:
    answer = SeasonListAnswer(
        listed=Listed.TEST, on=ON, items=[item(1), item(2)], remarks=[], cautions=[]
    )
    document = pypdfium2.PdfDocument(BytesIO(draw_list(answer, "A4", Local())))
    squares = 0
    for thing in document[0].get_objects():
        left, bottom, right, top = thing.get_bounds()
        squares += abs((right - left) - (top - bottom)) < 0.1 and 4 < (right - left) / MM < 6
    document.close()
    assert squares == 2


@pytest.mark.parametrize("listed", Listed)
def test_an_empty_list_says_so(listed: Listed) -> None:
    pages = read([], listed=listed)
    assert len(pages) == 1
    for code in ("list-title", "list-nothing"):
        assert text_of(Finding(code, {"list": listed})) in pages[0]


def test_long_and_hostile_words_stay_on_the_page() -> None:
    long = item(
        1,
        name="W" * 120 + " <b>x</b> \x00\r\n**y** 豆 (carrot)",
        lots=[f"L{n:04}" for n in range(30)],
        place="P" * 120,
        reasons=[said("why " * 100), said("Z" * 400)],
    )
    words = " ".join(read([long, item(2)]))
    assert "<b>x</b> **y** ▯ (carrot)" in words
    assert "Invented 2" in words
