"""A lot described better; nobody's change in between is written over unseen."""

from collections.abc import Mapping
from types import NoneType
from typing import Any, get_args

from fastapi import Response

from seedbank.common.local_format import Local
from seedbank.database.queries import Paging
from seedbank.kinds.tables import VarietyFilter
from seedbank.kinds.words import kept_as
from seedbank.lots import words
from seedbank.lots.answers import LotAnswer
from seedbank.lots.forms import LotChange
from seedbank.lots.pages.lot import Code
from seedbank.lots.show_lots import list_varieties, show_lot
from seedbank.lots.take_in_lots import change_lot
from seedbank.web.pages.form_reading import Filled, typed_codes
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_MOST = 200
_FIELDS = LotChange.model_fields
_MEASURES = ("thousand_seed_weight_g", "printed_germination_pct")
SHOWN = tuple(name for name in _FIELDS if name != "thousand_seed_weight_se_g")


@router.get("/lot/{code}/change")
def changing(request: PageRequestDep, code: Code) -> Response:
    """How the lot is described, to be changed."""
    return _page(request, code, Filled(), 200)


@router.post("/lot/{code}/change")
def change(sent: SentDep, code: Code) -> Response:
    """Write what was changed, if nobody else wrote in between."""
    request, touched = sent.request, _touched(sent)

    def action(form: LotChange) -> str:
        lot = change_lot(request.session, code, form, expected=sent.version, today=request.today)
        return f"/lot/{lot.code}"

    named = {name: sent.fields.get(name, "") for name in touched}
    filled = _read(sent, named)
    return sent.act(
        filled,
        action,
        lambda again, status: _page(
            request, code, Filled(named, again.errors), status, read_at=sent.get("version")
        ),
    )


def _read(sent: Sent, touched: Mapping[str, str]) -> Filled[LotChange]:
    """The fields touched as a form; one that was emptied says so rather than being left out."""
    emptied: dict[str, Any] = {}
    for name, text in touched.items():
        if name == "parents":
            emptied[name] = typed_codes(text)
        elif _FIELDS[name].annotation is bool:
            emptied[name] = text == "yes"
        elif not text.strip():
            emptied[name] = None if NoneType in get_args(_FIELDS[name].annotation) else ""
    only = Sent(sent.request, dict(touched))
    return only.form(LotChange, emptied)


def _touched(sent: Sent) -> list[str]:
    """Fields that hold something else than when they were shown."""
    return [
        name
        for name in SHOWN
        if _same_ends(sent.fields.get(name, "")) != _same_ends(sent.fields.get(f"was.{name}", ""))
    ]


def _same_ends(text: str) -> str:
    """A browser sends line ends as CR LF, whatever it was given."""
    return text.replace("\r\n", "\n").strip()


def _page(
    request: PageRequest, code: str, filled: Filled[LotChange], status: int, *, read_at: str = ""
) -> Response:
    lot = show_lot(request.session, code, today=request.today)
    kind = VarietyFilter(kind=lot.variety.kind)
    varieties = list_varieties(request.session, kind, Paging(_MOST)).items
    choices = {one.id: one.name for one in varieties} | {lot.variety.id: lot.variety.name}
    return request.show(
        "lots/pages/lot_change.html",
        status,
        lot=lot,
        filled=filled,
        now=_held(lot, request.local),
        shown=SHOWN,
        meanwhile=read_at not in ("", str(lot.version)),
        varieties=choices,
        name_of={str(number): name for number, name in choices.items()},
        origins=words.origins(),
        kept_as=kept_as(),
        isolations=words.isolations(),
        purities=words.purities(),
        seed_forms=words.seed_forms(),
    )


def _held(lot: LotAnswer, local: Local) -> dict[str, str]:
    """What each field holds now, as it would be typed."""
    held = lot.model_dump(mode="json", include=set(SHOWN)) | {
        "variety_id": lot.variety.id,
        **{name: local.shown(name, getattr(lot, name)) for name in _MEASURES},
        "parents": ", ".join(lot.parents),
    }
    return {name: _typed(value) for name, value in held.items()}


def _typed(value: object) -> str:
    if value is None or value is False:
        return ""
    return "yes" if value is True else str(value)
