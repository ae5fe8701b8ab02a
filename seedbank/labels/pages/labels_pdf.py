"""Packet labels: what the seed is, how it came up, what to beware of, and a code to its page."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from seedbank.common.catalogue import text_of
from seedbank.common.local_format import Local
from seedbank.labels.answers import LabelAnswer
from seedbank.labels.pages.layouts import PAD_MM, Box, LabelLayout
from seedbank.science.quantities import Finding
from seedbank.web.paper import (
    CODE_FACE,
    Type,
    breaks_a_word,
    draw_qr,
    new_document,
    use,
    wrapped,
    write,
)

if TYPE_CHECKING:
    from fpdf import FPDF

MOST_COPIES = 50
_BESIDE_MM = 1.2
_QR_SHARE = 0.42  # of the label's width, at most
_SCALES = (1.15, 1.0, 0.9, 0.8, 0.7, 0.62)
_LEAST_POINTS = 5.0


@dataclass(frozen=True, slots=True)
class LabelJob:
    """What to print: ``start`` is the first free place of the first sheet, counted from 1."""

    labels: Sequence[LabelAnswer]
    layout: LabelLayout
    base_url: str
    start: int = 1
    copies: int = 1


def draw_labels(job: LabelJob, on: date, local: Local) -> bytes:
    """The labels as PDF, along the rows from the place asked, each lot's copies together.

    The day is kept in the document. Raises ValueError: ``start`` is no place of the sheet.
    """
    layout = job.layout
    if not 1 <= job.start <= layout.on_page:
        raise ValueError(f"a start lies in 1..{layout.on_page}, got {job.start!r}")
    document = new_document(layout.page_mm, text_of(Finding("label-document")), on)
    place = job.start - 1
    for label in job.labels:
        for _ in range(job.copies):
            if place == layout.on_page or document.page == 0:
                document.add_page()
                place = place % layout.on_page
            _draw(document, label, layout.box(place), job.base_url, local)
            place += 1
    if document.page == 0:
        document.add_page()
    return bytes(document.output())


def lot_address(base_url: str, code: str) -> str:
    """Where a lot's page is."""
    return f"{base_url.rstrip('/')}/lot/{code}"


def _draw(document: "FPDF", label: LabelAnswer, box: Box, base_url: str, local: Local) -> None:
    inner_height = box.height - 2 * PAD_MM
    code_face = Type("B", 10.0 if box.height < 30 else 12.0, CODE_FACE)
    side = min(inner_height - code_face.line_mm + PAD_MM, _QR_SHARE * box.width)
    left = box.x + box.width - side - PAD_MM / 2
    # The code's own clear margin may reach into the label's, never over its edge.
    draw_qr(document, lot_address(base_url, label.lot), left, box.y + PAD_MM / 2, side)
    use(document, code_face)
    width = document.get_string_width(label.lot)
    write(document, left + (side - width) / 2, box.y + PAD_MM / 2 + side, [label.lot], code_face)
    room = Box(
        box.x + PAD_MM, box.y + PAD_MM, box.width - side - 1.5 * PAD_MM - _BESIDE_MM, inner_height
    )
    _write(document, _lines(label, local), room)


@dataclass(frozen=True, slots=True)
class _Line:
    """A piece of the label: its size in points at full scale, and most lines it may take."""

    text: str
    style: str
    points: float
    most: int


def _lines(label: LabelAnswer, local: Local) -> list[_Line]:
    """What the label says, from the top."""
    lines = [
        _Line(label.variety, "B", 11.0, 2),
        _Line(label.kind, "", 8.5, 2),
        _Line(text_of(_harvest(label), local), "", 8.5, 1),
        _Line(text_of(_tested(label), local), "", 7.5, 4),
    ]
    if label.treated:
        lines.append(_Line(text_of(Finding("label-treated"), local), "B", 7.5, 3))
    if label.poisonous:
        lines.append(_Line(text_of(Finding("label-poisonous"), local), "B", 7.5, 3))
    if not label.keeps:
        lines.append(_Line(text_of(Finding("label-fleeting"), local), "B", 7.5, 2))
    return lines


def _harvest(label: LabelAnswer) -> Finding:
    year = math.nan if label.harvest_year is None else label.harvest_year
    return Finding("label-harvest", {"year": year, "estimated": label.harvest_estimated})


def _tested(label: LabelAnswer) -> Finding:
    test = label.test
    if test is None:
        return Finding("label-not-tested")
    came = test.germination
    return Finding(
        "label-tested",
        {
            "on": test.finished_on,
            "seeds": test.seeds,
            "pct": came.pct,
            "low_pct": came.low_pct,
            "high_pct": came.high_pct,
        },
    )


def _write(document: "FPDF", lines: Sequence[_Line], room: Box) -> None:
    """As large as everything has room whole; failing that, as large as it has room cut short."""
    chosen = None
    for scale in _SCALES:
        fitted = [_fitted(document, line, scale, room.width) for line in lines]
        if _height(fitted) > room.height:
            continue
        if all(one.whole for one in fitted):
            chosen = fitted
            break
        chosen = chosen or fitted
    chosen = chosen or _squeezed(document, lines, room)
    y = room.y
    for one in chosen:
        y = write(document, room.x, y, one.text, one.face)


@dataclass(frozen=True, slots=True)
class _Fitted:
    """A piece in lines; ``whole`` if nothing is left out and no word broken."""

    text: list[str]
    face: Type
    whole: bool


def _height(fitted: Sequence[_Fitted]) -> float:
    return sum(one.face.line_mm * len(one.text) for one in fitted)


def _fitted(document: "FPDF", line: _Line, scale: float, width: float) -> _Fitted:
    face = Type(line.style, max(line.points * scale, _LEAST_POINTS))
    text = wrapped(document, line.text, face, width)
    whole = len(text) <= line.most and not breaks_a_word(document, line.text, face, width)
    if len(text) > line.most:
        text = wrapped(document, line.text, face, width, line.most)
    return _Fitted(text, face, whole)


def _squeezed(document: "FPDF", lines: Sequence[_Line], room: Box) -> list[_Fitted]:
    """In the smallest type, names cut short first; cautions are the last to lose a line."""
    face = {line: Type(line.style, _LEAST_POINTS) for line in lines}
    free = int(room.height / Type("", _LEAST_POINTS).line_mm)
    most = dict.fromkeys(lines, 1)
    for line in reversed(lines):
        asked = len(wrapped(document, line.text, face[line], room.width, line.most))
        most[line] += max(0, min(asked - 1, free - sum(most.values())))
    return [
        _Fitted(wrapped(document, line.text, face[line], room.width, most[line]), face[line], False)
        for line in lines
    ][:free]
