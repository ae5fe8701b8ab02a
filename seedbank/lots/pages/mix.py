"""A mixture made of seed of lots here."""

from typing import Any

from fastapi import Response

from seedbank.lots.edit_places import place_choices
from seedbank.lots.forms import MixtureCreate
from seedbank.lots.mix_lots import mix_lots
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
PARTS = 8
_SHOWN_PARTS = 3
_SHOWN = (
    "variety", "seeds", "place_id", "notes",
    *(f"parts[{at}].{name}" for at in range(PARTS) for name in ("lot", "amount", "share")),
    *(f"parts[{at}]{of}" for at in range(PARTS) for of in ("", ".amount.seeds")),
)  # fmt: skip


@router.get("/mix")
def ask(request: PageRequestDep) -> Response:
    """An empty form, or one begun with the lot the address names."""
    lot = request.http.query_params.get("lot", "")
    return _page(request, Filled({"parts[0].lot": lot}))


@router.post("/mix")
def mix(sent: SentDep) -> Response:
    """Mix them, and go to the mixture."""
    request = sent.request

    def action(form: MixtureCreate) -> str:
        lot = mix_lots(request.session, form, today=request.today, now=request.now)
        return f"/lot/{lot.code}?movement=1"

    filled = sent.form(MixtureCreate, {"parts": _parts(sent)})
    return sent.act(filled, action, lambda again, status: _page(request, again, status))


def _parts(sent: Sent) -> list[dict[str, Any]]:
    """The parts told; each row as it stands, so that a fault finds its place."""
    rows = []
    for at in range(PARTS):
        lot, seeds, share = (
            sent.get(f"parts[{at}].{name}") for name in ("lot", "amount.seeds", "share")
        )
        row: dict[str, Any] = {"lot": lot}
        if seeds:
            row["amount"] = {"seeds": int(seeds) if seeds.isdecimal() else seeds}
        if share:
            row["share"] = _fraction(share)
        if lot or len(row) > 1:
            rows.append(row)
    return rows


def _fraction(pct: str) -> float | str:
    try:
        return float(pct.replace(",", ".").removesuffix("%")) / 100.0
    except ValueError:
        return pct


def _page(request: PageRequest, filled: Filled[MixtureCreate], status: int = 200) -> Response:
    return request.show(
        "lots/pages/mix.html",
        status,
        filled=filled,
        shown=_SHOWN,
        parts=range(PARTS),
        shown_parts=_SHOWN_PARTS,
        places=place_choices(request.session),
    )
