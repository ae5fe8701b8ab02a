"""A kind of one's own: its name, three questions, and whatever else is known."""

from fastapi import Response

from seedbank.common.catalogue import text_of
from seedbank.kinds import words
from seedbank.kinds.edit_kinds import add_kind
from seedbank.kinds.forms import KindCreate
from seedbank.science.quantities import Finding
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_SHOWN = ("name", "kept_as", "keeps_years", "poisonous", "slug", "source")


@router.get("/kind/new")
def ask(request: PageRequestDep) -> Response:
    """An empty form, or one with the name it was asked for by."""
    return _page(request, Filled({"name": request.http.query_params.get("name", "")}))


@router.post("/kind/new")
def add(sent: SentDep) -> Response:
    """Add it, and go on to a packet of it."""
    request = sent.request
    source = sent.get("source") or text_of(Finding("fact-told-with-kind"))
    facts = [
        {"name": name, "value": sent.get(f"fact-{name}"), "source": source}
        for name in words.more_facts()
        if sent.get(f"fact-{name}")
    ]

    def action(form: KindCreate) -> str:
        return f"/take-in?kind={add_kind(request.session, form).slug}"

    filled = sent.form(KindCreate, {"facts": facts})
    return sent.act(filled, action, lambda again, status: _page(request, again, status))


def _page(request: PageRequest, filled: Filled[KindCreate], status: int = 200) -> Response:
    return request.show(
        "kinds/pages/new_kind.html",
        status,
        filled=filled,
        shown=_SHOWN,
        kept_as=words.kept_as(),
        more_facts=words.more_facts(),
    )
