"""Labels: which lots, on what paper, from which place of the sheet; then the PDF."""

from ipaddress import ip_address
from urllib.parse import urlsplit

from fastapi import Response

from seedbank.common.errors import Refused
from seedbank.common.faults import StockFault
from seedbank.labels.label_facts import (
    MOST_LABELS,
    LabelsWanted,
    list_label_lots,
    list_labels,
)
from seedbank.labels.pages.label_request import LabelPaper, LabelQuestion
from seedbank.labels.pages.labels_pdf import LabelJob, draw_labels
from seedbank.labels.pages.layouts import LAYOUTS
from seedbank.lots.place_choices import place_choices
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import Desk, DeskDep
from seedbank.web.pages.page_route import page_router

router = page_router()
A_PAGE = 100
MOST_PRINTED = 2_000


@router.get("/labels")
def choose(desk: DeskDep) -> Response:
    """Lots to choose from, and paper."""
    return _page(desk, desk.asked(LabelPaper))


@router.get("/labels.pdf")
def printed(desk: DeskDep) -> Response:
    """The labels of the lots ticked, or of all that were found."""
    asked = desk.asked(LabelPaper)
    if asked.form is None:
        return _page(desk, asked, 422)
    paper = asked.form
    try:
        layout = paper.on()
        labels = list_labels(desk.session, _wanted(desk, paper), today=desk.today)
        if not labels:
            raise Refused("lot", None, "Tick the lots to label, or all that were found.")
        if len(labels) * paper.copies > MOST_PRINTED:
            mend = f"Print at most {MOST_PRINTED} labels at a time."
            raise Refused("copies", paper.copies, mend)
    except StockFault as fault:
        return _page(desk, asked.faulted(fault), 422)
    job = LabelJob(labels, layout, desk.base_url, paper.start, paper.copies)
    headers = {"Content-Disposition": 'inline; filename="labels.pdf"', "Cache-Control": "no-store"}
    return Response(draw_labels(job, desk.today, desk.local), 200, headers, "application/pdf")


def _wanted(desk: Desk, paper: LabelPaper) -> LabelsWanted:
    codes = tuple(desk.request.query_params.getlist("lot"))
    if not paper.all:
        if not codes:
            raise Refused("lot", None, "Tick the lots to label, or all that were found.")
        return LabelsWanted(codes=codes)
    found = desk.asked(LabelQuestion).form
    if found is None:
        raise Refused("lot", None, "Find the lots anew: what was asked for can't be read.")
    return LabelsWanted(text=found.words or None, place_id=found.place, since=found.since)


def _page(desk: Desk, paper: Filled[LabelPaper], status: int = 200) -> Response:
    question = desk.asked(LabelQuestion)
    ticked = desk.request.query_params.getlist("lot")
    form = question.form
    lots = []
    if form is not None:
        named = tuple(ticked) if form.nothing_asked else ()
        wanted = LabelsWanted(
            codes=named[:MOST_LABELS],
            text=form.words or None,
            place_id=form.place,
            since=form.since,
        )
        try:
            lots = list_label_lots(desk.session, wanted, today=desk.today)
        except StockFault as fault:
            question = question.faulted(fault)
    narrowed = form is not None and not form.nothing_asked
    return desk.show(
        "labels/pages/labels.html",
        422 if question.errors else status,
        question=question,
        paper=paper,
        lots=lots[:A_PAGE],
        total=len(lots),
        most=MOST_LABELS,
        ticked={one.lot for one in lots} if narrowed and not ticked else set(ticked),
        narrowed=narrowed,
        within_reach=_within_reach(desk.base_url),
        places=place_choices(desk.session),
        layouts=[(slug, layout.name) for slug, layout in LAYOUTS.items()],
    )


def _within_reach(base_url: str) -> bool:
    """Whether other machines can have this address: not the one by which a machine calls itself."""
    host = urlsplit(base_url).hostname or ""
    try:
        return not ip_address(host).is_loopback
    except ValueError:
        return host != "localhost" and not host.endswith(".localhost")
