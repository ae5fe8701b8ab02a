"""Packets taken in one after another: what each is, how much, its date; where it goes stays."""

import re
from calendar import monthrange
from datetime import date
from typing import Any, Final
from urllib.parse import urlencode

from fastapi import Response

from seedbank.common.catalogue import text_of
from seedbank.common.errors import MisreadCode, NotThere, Refused
from seedbank.database.queries import Paging
from seedbank.kinds.tables import KindFilter, VarietyFilter
from seedbank.kinds.words import kept_as
from seedbank.lots import words
from seedbank.lots.answers import LotAnswer
from seedbank.lots.edit_places import place_choices
from seedbank.lots.forms import FirstAmount, PacketCreate, PlaceCreate
from seedbank.lots.move_seed import undo_movement
from seedbank.lots.pages.photo import SentWithPhotoDep
from seedbank.lots.photograph_lots import keep_photo, read_photo
from seedbank.lots.show_lots import list_kinds, list_varieties, show_lot
from seedbank.lots.take_in_packet import kind_taken, take_in_packet
from seedbank.science.quantities import Finding
from seedbank.web.pages.form_reading import Filled, typed_codes
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_MOST = 200
_LISTED = 6  # of those added so far
_NOT_SHOWN = {"variety_id", "new_place", "thousand_seed_weight_se_g", "amount_note"}
_SHOWN = (
    *(name for name in PacketCreate.model_fields if name not in _NOT_SHOWN),
    *(f"amount.{name}" for name in FirstAmount.model_fields),
    *(f"new_place.{name}" for name in PlaceCreate.model_fields),
    "year",
    "photo",
)
_CARRIED = ("origin", "donor", "dated", "month", "year")  # from one packet to the next
_STAYS = (*_CARRIED, "place_id")
_PREFILLED = (*_STAYS, "kind", "variety", "kind_as_named", "notes")
_DATES: Final = ("sow_by", "packed_on", "harvest_year")
_YEAR = re.compile(r"\d{4}")


@router.get("/take-in")
def ask(request: PageRequestDep) -> Response:
    """An empty form, or one begun by the address: another packet of a variety, say."""
    asked = request.http.query_params
    begun = {name: asked[name] for name in _PREFILLED if asked.get(name)}
    return _page(request, Filled(begun), 200, typed_codes(asked.get("added", "")))


@router.post("/take-in")
def take_in(form: SentWithPhotoDep) -> Response:
    """Take it in, and go to its lot, or on to the next packet."""
    sent, request, added = form.sent, form.sent.request, typed_codes(form.sent.get("added"))

    def again(filled: Filled[PacketCreate], status: int) -> Response:
        return _page(request, filled, status, added)

    if took := sent.get("took"):  # a kind chosen by its key, and nothing saved yet
        chosen = {"kind": took, "kind_as_named": sent.get("as_named")}
        return again(Filled({**sent.fields, **chosen}), 200)

    def action(packet: PacketCreate) -> str:
        lot = take_in_packet(request.session, packet, today=request.today, now=request.now)
        if photo is not None:
            keep_photo(request.session, lot.code, photo, now=request.now)
        if not sent.get("next"):
            return f"/lot/{lot.code}{'' if lot.amount.seeds == 0 else '?movement=1'}"
        kept = {name: sent.get(name) for name in _CARRIED if sent.get(name)}
        place = {"place_id": lot.place.id} if lot.place else {}
        return "/take-in?" + urlencode({"added": " ".join([lot.code, *added]), **kept, **place})

    try:
        filled = sent.form(PacketCreate, _given(sent))
    except Refused as fault:
        return again(sent.form(PacketCreate).faulted(fault, request.local), 422)
    try:
        photo = read_photo(form.picture) if form.picture and filled.form else None
    except Refused as fault:
        return again(filled.faulted(fault, request.local), 422)
    return sent.act(filled, action, again)


@router.post("/take-in/undo")
def undo(sent: SentDep) -> Response:
    """Take back a packet just added: its seed is booked out again."""
    request, code, added = sent.request, sent.get("lot"), typed_codes(sent.get("added"))

    def action() -> str:
        undo_movement(request.session, code, 1, today=request.today, now=request.now)
        kept = {name: sent.get(name) for name in _STAYS if sent.get(name)}
        left = {"added": " ".join(one for one in added if one != code)}
        return "/take-in?" + urlencode({**left, **kept, "undone": code})

    return sent.once(action)


def _given(sent: Sent) -> dict[str, Any]:
    """What the chips say: how much there is, and which date is on the packet.

    Raises Refused: a year that is none.
    """
    given: dict[str, Any] = {"parents": typed_codes(sent.get("parents"))}
    if sent.get("came_unknown") == "yes":
        given["acquired_on"] = None
    much = sent.get("much")
    if much in ("packet", "half"):
        counted = sent.get("amount.seeds") or sent.get("amount.grams")
        if counted:
            raise Refused("packet-and-number", "amount", counted)
        given["amount"] = None
        if much == "half":
            given["amount_note"] = text_of(Finding("about-half-left"), sent.request.local)
    year, dated = sent.get("year"), sent.get("dated")
    if not year or dated not in _DATES:
        return given
    if not _YEAR.fullmatch(year) or year == "0000":
        raise Refused("year-misread", "year", year)
    typed = sent.get("month")
    month = int(typed) if typed in {str(one) for one in range(1, 13)} else 0
    match dated:
        case "sow_by":
            last = month or 12
            given["sow_by"] = date(int(year), last, monthrange(int(year), last)[1])
        case "packed_on":
            given["packed_on"] = f"{year}-{month:02}" if month else year
        case "harvest_year":
            given["harvest_year"] = int(year)
    return given


def _page(
    request: PageRequest, filled: Filled[PacketCreate], status: int, added: list[str]
) -> Response:
    session, kind = request.session, filled.value("kind").strip()
    as_named = filled.value("kind_as_named") == "yes"
    taken = kind_taken(
        session,
        kind,
        filled.value("variety").strip(),
        filled.value("notes").strip(),
        as_named=as_named,
    )
    asked = VarietyFilter(kind=taken.kind.slug if taken.kind else None)
    varieties = list_varieties(session, asked, Paging(_MOST))
    places = place_choices(session)
    return request.show(
        "lots/pages/take_in.html",
        status,
        filled=filled,
        shown=_SHOWN,
        taken=taken if kind else None,
        kinds=list_kinds(session, KindFilter(), Paging(_MOST)).items,
        varieties=varieties.items,
        places=places,
        place_name={str(number): name for number, name in places}.get(filled.value("place_id"), ""),
        months=[(number, request.local.month_name(number)) for number in range(1, 13)],
        dates=_DATES,
        added=added,
        listed=_added(request, added),
        undone=request.http.query_params.get("undone", ""),
        carried=_STAYS,
        origins=words.origins(),
        kept_as=kept_as(),
        isolations=words.isolations(),
        purities=words.purities(),
        seed_forms=words.seed_forms(),
    )


def _added(request: PageRequest, codes: list[str]) -> list[LotAnswer]:
    """The last of the packets added so far, the latest first."""
    found = []
    for code in codes[:_LISTED]:
        try:
            found.append(show_lot(request.session, code, today=request.today))
        except (MisreadCode, NotThere):
            continue
    return found
