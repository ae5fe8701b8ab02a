"""A seed crop, step by step: sown, looked after, in flower, harvested into a lot, or lost."""

from collections.abc import Callable, Mapping
from typing import Any

from fastapi import Response
from pydantic import BaseModel

from seedbank.database.queries import Paging
from seedbank.lots.show_lots import list_places
from seedbank.saving import words as words
from seedbank.saving.check_crossing import check_seed_crop
from seedbank.saving.forms import SeedCropChange, SeedCropFail, SeedCropHarvest, SeedCropSow
from seedbank.saving.grow_seed_crops import (
    change_seed_crop,
    fail_seed_crop,
    harvest_seed_crop,
    sow_seed_crop,
)
from seedbank.saving.show_lines import show_seed_parents
from seedbank.saving.show_seed_crops import next_steps, show_seed_crop
from seedbank.verdicts.spare_seed import seed_to_keep_of_lot
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_MOST_PLACES = 100


@router.get("/crop/{number}")
def show(request: PageRequestDep, number: int) -> Response:
    """The crop, what comes next, and what may cross with it."""
    return _page(request, number)


@router.post("/crop/{number}/sow")
def sow(sent: SentDep, number: int) -> Response:
    """It is sown; seeds counted leave their lot."""
    request = sent.request

    def action(form: SeedCropSow) -> str:
        sow_seed_crop(request.session, number, form, today=request.today, now=request.now)
        return f"/crop/{number}"

    return _act(sent, number, "sow", SeedCropSow, action)


@router.post("/crop/{number}/plants")
def plants(sent: SentDep, number: int) -> Response:
    """How it does: plants raised, pulled out and kept, first and last flower, isolation, notes."""
    request = sent.request

    def action(form: SeedCropChange) -> str:
        version = sent.get("version")
        expected = {int(version)} if version.isdecimal() else None
        change_seed_crop(request.session, number, form, expected=expected)
        return f"/crop/{number}"

    return _act(sent, number, "plants", SeedCropChange, action)


@router.post("/crop/{number}/harvest")
def harvest(sent: SentDep, number: int) -> Response:
    """Its seed becomes a lot."""
    request = sent.request

    def action(form: SeedCropHarvest) -> str:
        done = harvest_seed_crop(
            request.session, number, form, today=request.today, now=request.now
        )
        return f"/lot/{done.lot.code}"

    amount = sent.get("amount.seeds") or sent.get("amount.grams")
    return _act(
        sent, number, "harvest", SeedCropHarvest, action, None if amount else {"amount": {}}
    )


@router.post("/crop/{number}/fail")
def fail(sent: SentDep, number: int) -> Response:
    """It gave no seed."""
    request = sent.request

    def action(form: SeedCropFail) -> str:
        fail_seed_crop(request.session, number, form, today=request.today)
        return f"/crop/{number}"

    return _act(sent, number, "fail", SeedCropFail, action)


def _act(
    sent: Sent,
    number: int,
    step: str,
    model: type[BaseModel],
    action: Callable[[Any], str],
    given: Mapping[str, Any] | None = None,
) -> Response:
    filled = sent.form(model, given)
    return sent.act(
        filled, action, lambda faulty, status: _page(sent.request, number, step, faulty, status)
    )


def _page(
    request: PageRequest,
    number: int,
    step: str = "",
    filled: Filled[Any] | None = None,
    status: int = 200,
) -> Response:
    """The page, with the form of ``step`` as it was typed; every other form is fresh."""
    crop = show_seed_crop(request.session, number)
    parents = None
    if crop.lot is not None and crop.sown_on is None and crop.failed_on is None:
        asked = crop.purpose
        parents = show_seed_parents(request.session, crop.lot, purpose=asked, today=request.today)
    return request.show(
        "saving/pages/crop.html",
        status,
        crop=crop,
        next=next_steps(request.session, [crop], request.today)[0],
        parents=parents,
        to_keep=crop.result_lot
        and seed_to_keep_of_lot(request.session, crop.result_lot, today=request.today),
        told=check_seed_crop(request.session, number),
        places=[
            (one.id, one.name) for one in list_places(request.session, Paging(_MOST_PLACES)).items
        ],
        step=step,
        forms={one: filled if one == step and filled else Filled() for one in _STEPS},
        words=words,
    )


_STEPS = ("sow", "plants", "harvest", "fail")
