"""Labels: which lots, on what paper, from which place of the sheet; then the PDF."""

from ipaddress import ip_address
from urllib.parse import urlsplit

from fastapi import Response
from pydantic import Field

from seedbank.common.errors import Refused, StockFault
from seedbank.common.forms import Day, Form, Line, RowId
from seedbank.labels.label_facts import (
    MOST_LABELS,
    LabelsWanted,
    list_label_lots,
    list_labels,
)
from seedbank.labels.pages.label_paper import LabelPaper
from seedbank.labels.pages.labels_pdf import LabelJob, draw_labels
from seedbank.labels.pages.layouts import LAYOUTS
from seedbank.lots.edit_places import place_choices
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep
from seedbank.web.pages.page_route import page_router


class LabelQuestion(Form):
    """Which lots to label; what is left out asks nothing."""

    words: Line = Field(default="", description="Words in the variety, kind, code or notes.")
    place: RowId | None = Field(default=None, description="Number of the place it is kept in.")
    since: Day | None = Field(default=None, description="Taken in or tested on that day or later.")

    @property
    def nothing_asked(self) -> bool:
        return not self.words and self.place is None and self.since is None


router = page_router()
A_PAGE = 100
MOST_PRINTED = 2_000


@router.get("/labels")
def choose(request: PageRequestDep) -> Response:
    """Lots to choose from, and paper."""
    return _page(request, request.asked(LabelPaper))


@router.get("/labels.pdf")
def printed(request: PageRequestDep) -> Response:
    """The labels of the lots ticked, or of all that were found."""
    asked = request.asked(LabelPaper)
    if asked.form is None:
        return _page(request, asked, 422)
    paper = asked.form
    try:
        layout = paper.on()
        labels = list_labels(request.session, _wanted(request, paper), today=request.today)
        if not labels:
            raise Refused("no-lots-ticked", "lot", None)
        if len(labels) * paper.copies > MOST_PRINTED:
            raise Refused("too-many-labels", "copies", paper.copies, most=MOST_PRINTED)
    except StockFault as fault:
        return _page(request, asked.faulted(fault, request.local), 422)
    job = LabelJob(labels, layout, request.base_url, paper.start, paper.copies)
    headers = {"Content-Disposition": 'inline; filename="labels.pdf"', "Cache-Control": "no-store"}
    return Response(draw_labels(job, request.today, request.local), 200, headers, "application/pdf")


def _wanted(request: PageRequest, paper: LabelPaper) -> LabelsWanted:
    codes = tuple(request.http.query_params.getlist("lot"))
    if not paper.all:
        if not codes:
            raise Refused("no-lots-ticked", "lot", None)
        return LabelsWanted(codes=codes)
    found = request.asked(LabelQuestion).form
    if found is None:
        raise Refused("label-question-misread", "lot", None)
    return LabelsWanted(text=found.words or None, place_id=found.place, since=found.since)


def _page(request: PageRequest, paper: Filled[LabelPaper], status: int = 200) -> Response:
    question = request.asked(LabelQuestion)
    ticked = request.http.query_params.getlist("lot")
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
            lots = list_label_lots(request.session, wanted, today=request.today)
        except StockFault as fault:
            question = question.faulted(fault, request.local)
    narrowed = form is not None and not form.nothing_asked
    return request.show(
        "labels/pages/labels.html",
        422 if question.errors else status,
        question=question,
        paper=paper,
        lots=lots[:A_PAGE],
        total=len(lots),
        most=MOST_LABELS,
        ticked={one.lot for one in lots} if narrowed and not ticked else set(ticked),
        narrowed=narrowed,
        within_reach=_within_reach(request.base_url),
        places=place_choices(request.session),
        layouts=[(slug, layout.name) for slug, layout in LAYOUTS.items()],
    )


def _within_reach(base_url: str) -> bool:
    """Whether other machines can have this address: not the one by which a machine calls itself."""
    host = urlsplit(base_url).hostname or ""
    try:
        return not ip_address(host).is_loopback
    except ValueError:
        return host != "localhost" and not host.endswith(".localhost")
