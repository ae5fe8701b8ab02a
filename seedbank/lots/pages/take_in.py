"""A new packet taken in: what it is, from where, how much, and where it goes."""

from urllib.parse import urlencode

from fastapi import Response

from seedbank.database.queries import Paging
from seedbank.kinds.tables import KindFilter, VarietyFilter, kinds_named
from seedbank.kinds.words import kept_as
from seedbank.lots import words
from seedbank.lots.edit_places import place_choices
from seedbank.lots.forms import FirstAmount, PacketCreate, PlaceCreate
from seedbank.lots.show_lots import list_kinds, list_varieties
from seedbank.lots.take_in_packet import take_in_packet
from seedbank.web.pages.form_reading import Filled, typed_codes
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_MOST = 200
_NOT_SHOWN = {"variety_id", "new_place", "thousand_seed_weight_se_g"}
_SHOWN = (
    *(name for name in PacketCreate.model_fields if name not in _NOT_SHOWN),
    *(f"amount.{name}" for name in FirstAmount.model_fields),
    *(f"new_place.{name}" for name in PlaceCreate.model_fields),
)
_PREFILLED = ("kind", "variety", "origin", "donor", "harvest_year", "place_id", "added")
_CARRIED = ("origin", "donor", "harvest_year")  # from one packet to the next


@router.get("/take-in")
def ask(request: PageRequestDep) -> Response:
    """An empty form, or one begun by the address: another packet of a variety, say."""
    asked = request.http.query_params
    begun = {name: asked[name] for name in _PREFILLED if asked.get(name)}
    return _page(request, Filled(begun), 200)


@router.post("/take-in")
def take_in(sent: SentDep) -> Response:
    """Take it in, and go to its lot."""
    request = sent.request

    def action(form: PacketCreate) -> str:
        lot = take_in_packet(request.session, form, today=request.today, now=request.now)
        if sent.get("next"):
            carried = {name: sent.get(name) for name in _CARRIED if sent.get(name)}
            place = {"place_id": lot.place.id} if lot.place else {}
            return "/take-in?" + urlencode({"added": lot.code, **carried, **place})
        booked = "" if lot.amount.seeds == 0 else "?movement=1"
        return f"/lot/{lot.code}{booked}"

    given: dict[str, object] = {"parents": typed_codes(sent.get("parents"))}
    if sent.get("came_unknown") == "yes":
        given["acquired_on"] = None
    filled = sent.form(PacketCreate, given)
    return sent.act(filled, action, lambda again, status: _page(request, again, status))


def _page(request: PageRequest, filled: Filled[PacketCreate], status: int) -> Response:
    session, kind = request.session, filled.value("kind").strip()
    kinds = list_kinds(session, KindFilter(), Paging(_MOST)).items
    meant = kinds_named(session, kind)
    asked = VarietyFilter(kind=meant[0].slug if len(meant) == 1 else None)
    varieties = list_varieties(session, asked, Paging(_MOST))
    return request.show(
        "lots/pages/take_in.html",
        status,
        filled=filled,
        shown=_SHOWN,
        kinds=kinds,
        varieties=varieties.items,
        places=place_choices(session),
        origins=words.origins(),
        kept_as=kept_as(),
        isolations=words.isolations(),
        purities=words.purities(),
        seed_forms=words.seed_forms(),
    )
