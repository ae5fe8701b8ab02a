"""Labels read back from the PDF: words, codes, and that nothing leaves its label."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from io import BytesIO

import pypdfium2
import pytest
import zxingcpp

from seedbank.common.answers import PercentAnswer
from seedbank.common.local_format import Local
from seedbank.labels.answers import LabelAnswer, LabelTestAnswer
from seedbank.labels.pages.labels_pdf import (
    LabelJob,
    draw_labels,
    lot_address,
)
from seedbank.labels.pages.layouts import LAYOUTS, Box, LabelLayout
from seedbank.web.paper import printable

ON = date(2027, 2, 20)
BASE = "http://192.168.1.20:8000"
LONGEST = ("Ünïcödé Żółć Жёлтая " + "Longname" * 20)[:120]  # a variety's name has 120 signs
MM = 72 / 25.4


def label(code: str = "4K7PM", **more: object) -> LabelAnswer:
    tested = LabelTestAnswer(
        finished_on=date(2026, 2, 15),
        seeds=25,
        germination=PercentAnswer(pct=76, low_pct=60.4, high_pct=87.5, level_pct=90),
    )
    return LabelAnswer.model_validate(
        {
            "lot": code, "variety": "Purple Lantern", "kind": "carrot", "harvest_year": 2023,
            "harvest_estimated": False, "seeds": 120, "place": None,
            "tested_on": tested.finished_on, "test": tested, "treated": False, "poisonous": False,
            "keeps": True, **more,
        }
    )  # fmt: skip


HARDEST = label(
    "9ZZZZ", variety=LONGEST, kind="squash, marrow and courgette (pepo)", treated=True,
    poisonous=True, harvest_estimated=True,
)  # fmt: skip


def pdf(labels: list[LabelAnswer], layout: str, **more: int) -> bytes:
    return draw_labels(LabelJob(labels, LAYOUTS[layout], BASE, **more), ON, Local())


@contextmanager
def opened(data: bytes) -> Iterator[pypdfium2.PdfDocument]:
    document = pypdfium2.PdfDocument(BytesIO(data))
    yield document
    document.close()


def text_of(page: pypdfium2.PdfPage, box: Box | None = None) -> str:
    """Words on a page, or in a box of it, on one line."""
    words = page.get_textpage()
    if box is None:
        return " ".join(words.get_text_range().split())
    high = page.get_height()
    found = words.get_text_bounded(
        box.x * MM, high - (box.y + box.height) * MM, (box.x + box.width) * MM, high - box.y * MM
    )
    return " ".join(found.split())


def inked(page: pypdfium2.PdfPage) -> list[Box]:
    """What is drawn on a page, object by object, in mm from its top left corner."""
    high = page.get_height()
    found = []
    for thing in page.get_objects():
        left, bottom, right, top = thing.get_bounds()
        found.append(Box(left / MM, (high - top) / MM, (right - left) / MM, (top - bottom) / MM))
    return found


def within(inner: Box, outer: Box) -> bool:
    slack = 0.05
    return (
        outer.x - slack <= inner.x
        and outer.y - slack <= inner.y
        and inner.x + inner.width <= outer.x + outer.width + slack
        and inner.y + inner.height <= outer.y + outer.height + slack
    )


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS)
def test_labels_lie_on_the_page_and_not_on_each_other(layout: LabelLayout) -> None:
    boxes = [layout.box(place) for place in range(layout.on_page)]
    page = Box(0, 0, *layout.page_mm)
    assert all(within(box, page) for box in boxes)
    for at, one in enumerate(boxes):
        for other in boxes[at + 1 :]:
            beside = abs(one.x - other.x) >= one.width - 1e-9
            assert beside or abs(one.y - other.y) >= one.height - 1e-9
    with pytest.raises(ValueError, match="a place lies in"):
        layout.box(layout.on_page)


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS)
@pytest.mark.parametrize(
    "said",
    [label(), label(variety=LONGEST, treated=True, keeps=False), HARDEST],
    ids=["usual", "fleeting", "hardest"],
)
def test_all_that_is_drawn_stays_on_its_label_and_all_is_said(
    layout: LabelLayout, said: LabelAnswer
) -> None:
    with opened(pdf([said], layout.slug)) as document:
        page = document[0]
        box = layout.box(0)
        drawn = inked(page)
        assert len(drawn) > 100  # the code's rectangles too
        assert all(within(one, box) for one in drawn)
        words = text_of(page)
    assert said.lot in words
    assert f"Harvest {'about ' if said.harvest_estimated else ''}2023" in words
    assert "15 Feb 2026: 76 % of 25 seeds came up (60–88 %)" in words
    assert ("TREATED SEED: not for food or feed" in words) is said.treated
    assert ("POISONOUS: keep from children and animals" in words) is said.poisonous
    assert ("SOW FRESH: doesn't keep" in words) is not said.keeps
    if said.variety != LONGEST:
        assert "Purple Lantern" in words
        assert "carrot" in words


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_phone_reads_the_code_of_each_label_from_the_print(layout: str) -> None:
    codes = [f"4K7P{n}" for n in range(3)]
    with opened(pdf([label(code) for code in codes], layout)) as document:
        read = {
            code.text
            for page in document
            for code in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil())
        }
    assert read == {lot_address(BASE, code) for code in codes}


def test_a_used_sheet_begins_at_the_place_asked_and_goes_on_overleaf() -> None:
    layout = LAYOUTS["a4-3x7"]
    lots = [label("AAAA0"), label("BBBB0")]
    with opened(pdf(lots, layout.slug, start=20, copies=2)) as document:
        assert len(document) == 2
        found = [
            [_code(text_of(page, layout.box(place))) for place in range(layout.on_page)]
            for page in document
        ]
    assert found[0][:19] == [""] * 19
    assert found[0][19:] == ["AAAA0", "AAAA0"]
    assert found[1] == ["BBBB0", "BBBB0", *[""] * 19]


def _code(words: str) -> str:
    return next((code for code in ("AAAA0", "BBBB0") if code in words), words)


def test_a_start_beyond_the_sheet_is_refused() -> None:
    with pytest.raises(ValueError, match=r"1\.\.21, got 22"):
        pdf([label()], "a4-3x7", start=22)


def test_lots_never_tested_and_of_unknown_harvest_say_so() -> None:
    with opened(pdf([label(test=None, harvest_year=None)], "single-62x29")) as document:
        words = text_of(document[0])
    assert "Not tested" in words
    assert "Harvest unknown" in words


def test_hostile_names_are_printed_as_they_are() -> None:
    name = "<b>**x**</b> \\(a) \x00\r\n/JS (alert)"
    with opened(pdf([label(variety=name)], "single-100x50")) as document:
        assert "<b>**x**</b> \\(a) /JS (alert)" in text_of(document[0])


def test_letters_of_many_scripts_are_printed_and_a_box_stands_for_the_rest() -> None:
    assert printable("Żółć Жёлтая Κίτρινη Ñandú") == "Żółć Жёлтая Κίτρινη Ñandú"
    assert printable("豆🥕") == "▯▯"
    with opened(pdf([label(variety="Żółć Жёлтая Κίτρινη")], "single-100x50")) as document:
        assert "Żółć Жёлтая Κίτρινη" in text_of(document[0])


def test_the_fonts_are_in_the_file_and_the_file_is_the_same_again() -> None:
    data = pdf([label()], "single-62x29")
    assert data.count(b"/FontFile2") == 3
    assert data == pdf([label()], "single-62x29")
