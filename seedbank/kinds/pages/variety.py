"""One variety: its lots, its plan, its seed crops, what crosses with it, and how it is wanted."""

import math
from typing import Any

from fastapi import Response

from seedbank.common.catalogue import text_of
from seedbank.common.errors import StockFault
from seedbank.database.queries import Paging
from seedbank.kinds import words as kind_words
from seedbank.kinds.edit_varieties import change_variety, show_variety
from seedbank.kinds.forms import VarietyChange
from seedbank.overview.show_variety import show_variety_at_hand
from seedbank.plan.edit_plan_pins import add_plan_pin
from seedbank.plan.forms import PlanPinCreate
from seedbank.saving import words as words
from seedbank.saving.check_crossing import CropAsked, check_wanted_crop
from seedbank.saving.edit_sites import add_site, list_sites
from seedbank.saving.forms import SeedCropCreate, SeedCropSought, SiteCreate
from seedbank.saving.grow_seed_crops import start_seed_crop
from seedbank.saving.show_lines import show_seed_parents
from seedbank.science.quantities import Finding
from seedbank.verdicts.answers import VerdictAnswer
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_MOST_SITES = 100


@router.get("/variety/{number}")
def show(request: PageRequestDep, number: int) -> Response:
    """All that is known of a variety."""
    return _page(request, number)


@router.post("/variety/{number}")
def change(sent: SentDep, number: int) -> Response:
    """Say anew what is wanted of a variety."""
    request = sent.request

    def action(form: VarietyChange) -> str:
        expected = {int(sent.get("version"))} if sent.get("version").isdecimal() else None
        change_variety(request.session, number, form, expected=expected)
        return f"/variety/{number}"

    # Its season may be taken back, which a field left empty would leave as it was.
    no_season = "season" in sent.fields and not sent.get("season")
    filled = sent.form(VarietyChange, {"season": None} if no_season else None)
    return sent.act(filled, action, lambda faulty, status: _page(request, number, faulty, status))


@router.post("/variety/{number}/pin")
def pin(sent: SentDep, number: int) -> Response:
    """Say that the plan must have a seed crop of it in a year, or must not."""
    request = sent.request

    def action(form: PlanPinCreate) -> str:
        add_plan_pin(request.session, form)
        return "/plan#pins"

    filled = sent.form(PlanPinCreate, {"variety_id": number})
    return sent.act(filled, action, lambda faulty, status: _page(request, number, faulty, status))


@router.get("/variety/{number}/crossing")
def crossing(request: PageRequestDep, number: int) -> Response:
    """What may cross with it, grown for seed in a year at a site."""
    variety = show_variety(request.session, number)
    sites = list_sites(request.session, Paging(_MOST_SITES)).items
    given: dict[str, object] = {}
    asked = request.http.query_params
    if "site_id" not in asked and sites:
        given = {"site_id": sites[0].id, "year": request.today.year}
    filled = request.asked(SeedCropSought, given)
    check = None
    if filled.form is not None:
        sought = CropAsked(variety_id=number, **filled.form.model_dump())
        try:
            check = check_wanted_crop(request.session, sought)
        except StockFault as fault:
            filled = filled.faulted(fault, request.local)
    return request.show(
        "kinds/pages/crossing.html",
        422 if filled.errors and "site_id" in asked else 200,
        variety=variety,
        sites=sites,
        site_choices=[(one.id, one.name) for one in sites],
        filled=filled,
        check=check,
        words=words,
    )


@router.get("/variety/{number}/grow")
def grow(request: PageRequestDep, number: int) -> Response:
    """A form to begin a seed crop, with how many to raise."""
    return _grow(request, number, Filled(dict(request.http.query_params)))


@router.post("/variety/{number}/grow")
def begin(sent: SentDep, number: int) -> Response:
    """Begin a seed crop."""
    request = sent.request

    def action(form: SeedCropCreate) -> str:
        crop = start_seed_crop(request.session, form, today=request.today, now=request.now)
        return f"/crop/{crop.id}"

    filled = sent.form(SeedCropCreate, {"variety_id": number})
    return sent.act(filled, action, lambda faulty, status: _grow(request, number, faulty, status))


@router.post("/variety/{number}/site")
def site(sent: SentDep, number: int) -> Response:
    """Put the first site on record, without which nothing can be grown for seed."""
    request = sent.request

    def action(form: SiteCreate) -> str:
        add_site(request.session, form)
        return f"/variety/{number}/grow"

    filled = sent.form(SiteCreate)
    return sent.act(filled, action, lambda faulty, status: _grow(request, number, faulty, status))


def _page(
    request: PageRequest,
    number: int,
    filled: Filled[Any] | None = None,
    status: int = 200,
) -> Response:
    answer = show_variety_at_hand(request.session, number, today=request.today)
    return request.show(
        "kinds/pages/variety.html",
        status,
        answer=answer,
        filled=filled or Filled(),
        words=words,
        seasons=kind_words.seasons(),
    )


def _grow(
    request: PageRequest,
    number: int,
    filled: Filled[Any],
    status: int = 200,
) -> Response:
    answer = show_variety_at_hand(request.session, number, today=request.today)
    seed = [one for one in answer.lots if not one.viability.planting_stock]
    code = filled.value("lot", seed[0].lot if seed else "")
    parents = None
    if any(one.lot == code for one in seed):
        purpose = answer.purpose
        parents = show_seed_parents(request.session, code, purpose=purpose, today=request.today)
    sites = list_sites(request.session, Paging(_MOST_SITES)).items
    held = [one for one in seed if one.balance_seeds != 0]
    return request.show(
        "kinds/pages/grow.html",
        status,
        answer=answer,
        lot=code,
        lot_choices=[(one.lot, text_of(_lot_to_choose(one))) for one in held],
        parents=parents,
        sites=sites,
        site_choices=[(one.id, one.name) for one in sites],
        filled=filled,
        words=words,
    )


def _lot_to_choose(one: VerdictAnswer) -> Finding:
    seeds = math.nan if one.balance_seeds is None else one.balance_seeds
    return Finding("lot-with-amount", {"lot": one.lot, "seeds": seeds})
