"""Seed crops: begun, sown, looked after, harvested or lost."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.database.run_once import Answer
from seedbank.saving import grow_seed_crops as crops
from seedbank.saving.answers import CrossingAnswer, HarvestAnswer, SeedCropAnswer
from seedbank.saving.check_crossing import check_seed_crop
from seedbank.saving.forms import (
    SeedCropChange,
    SeedCropCreate,
    SeedCropFail,
    SeedCropHarvest,
    SeedCropSow,
)
from seedbank.saving.grow_seed_crops import harvest_seed_crop
from seedbank.saving.show_seed_crops import list_seed_crops, show_seed_crop
from seedbank.saving.tables import SeedCropFilter
from seedbank.web.api.deps import (
    IdPath,
    NowDep,
    OnceDep,
    SessionDep,
    TodayDep,
    api_router,
)
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, done, sent, tells, tells_page

router = api_router(prefix="/seed-crops", tags=["seed-crops"])
_DONE = tells(SeedCropAnswer, problems=(400, 404, 409, 422))


@router.get("", responses=tells_page(SeedCropAnswer))
def browse(
    paged: PagedDep, wanted: Annotated[SeedCropFilter, Query()], session: SessionDep
) -> Response:
    """List seed crops by the year they flower."""
    return paged(lambda page: list_seed_crops(session, wanted, page))


@router.post("", status_code=201, responses=tells(SeedCropAnswer, 201, problems=(400, 409, 422)))
def start(
    form: Annotated[SeedCropCreate, body(SeedCropCreate)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Begin the record of a seed crop; seed said to be sown leaves its lot."""
    return once(
        lambda: created(
            crops.start_seed_crop(session, form, today=today, now=now), "/seed-crops/{0.id}"
        )
    )


@router.get("/{id}", responses=tells(SeedCropAnswer, problems=(404, 422)))
def show(id: IdPath, session: SessionDep) -> Response:
    """Show one seed crop."""
    return sent(show_seed_crop(session, id))


@router.patch("/{id}", responses=tells(SeedCropAnswer, problems=(400, 404, 409, 412, 422, 428)))
def change(
    id: IdPath,
    form: Annotated[SeedCropChange, body(SeedCropChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Change a seed crop: seed parents started, rogued, kept, and the rest."""
    return sent(crops.change_seed_crop(session, id, form, expected=expected))


@router.delete(
    "/{id}", status_code=204, responses=tells(None, 204, problems=(400, 404, 409, 412, 422, 428))
)
def delete(id: IdPath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take out a seed crop recorded by mistake; its sowing stays."""
    crops.delete_seed_crop(session, id, expected=expected)
    return Response(status_code=204)


@router.get("/{id}/crossing-check", responses=tells(CrossingAnswer, problems=(404, 422)))
def crossing(id: IdPath, session: SessionDep) -> Response:
    """Show what may cross, or may have crossed, with a seed crop, and what would mend it."""
    return sent(check_seed_crop(session, id))


@router.post("/{id}/sow", responses=_DONE)
def sow(
    id: IdPath,
    form: Annotated[SeedCropSow, body(SeedCropSow)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Sow a seed crop; seeds given leave the lot as a sowing."""
    return once(lambda: done(crops.sow_seed_crop(session, id, form, today=today, now=now)))


@router.post(
    "/{id}/harvest",
    status_code=201,
    responses=tells(HarvestAnswer, 201, problems=(400, 404, 409, 422)),
)
def harvest(
    id: IdPath,
    form: Annotated[SeedCropHarvest, body(SeedCropHarvest)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Harvest a seed crop: its seed becomes a lot, with its line and its purity."""

    def action() -> Answer:
        harvested = harvest_seed_crop(session, id, form, today=today, now=now)
        return created(harvested, "/lots/{0.lot.code}", of=harvested.lot)

    return once(action)


@router.post("/{id}/fail", responses=_DONE)
def fail(
    id: IdPath,
    form: Annotated[SeedCropFail, body(SeedCropFail)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
) -> Response:
    """Say that a seed crop gave no seed, and why."""
    return once(lambda: done(crops.fail_seed_crop(session, id, form, today=today)))
