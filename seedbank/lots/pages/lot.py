"""One lot at the bench: what it is, how much is left, how alive it is, what to do with it."""

from typing import Annotated

from fastapi import Path, Query, Response
from starlette.responses import RedirectResponse

from seedbank.common.answers import distinct
from seedbank.common.errors import MisreadCode, NotThere
from seedbank.database.find import row_id
from seedbank.database.queries import Paging
from seedbank.emergence.tables import SowingFilter
from seedbank.germination.show_tests import list_tests
from seedbank.germination.tables import TestFilter
from seedbank.germination.words import test_faults
from seedbank.kinds.words import kept_as
from seedbank.lots import words
from seedbank.lots.answers import LotAnswer
from seedbank.lots.pages.lot_life_figure import draw_lot_life
from seedbank.lots.show_lots import list_lots, show_lot, show_stays
from seedbank.lots.tables.lot_search import LotFilter
from seedbank.lots.tables.lots import find_lot
from seedbank.lots.tables.photos import photo_added_at
from seedbank.overview.find_lots import near_lots
from seedbank.overview.list_changes import list_changes, show_change
from seedbank.saving.show_lines import pedigree_of, show_drift
from seedbank.sowing.show_sowings import list_sowings
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.verdicts.words import verdict_words
from seedbank.viability.answers import ViabilityAnswer
from seedbank.viability.show_viability import show_viability
from seedbank.web.figures import Figure
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, status_of
from seedbank.web.pages.page_route import page_router
from seedbank.web.pages.pictures import picture

router = page_router()
Code = Annotated[str, Path(max_length=80)]
_FEW, _MOST = 5, 40


@router.get("/lot/{code}")
def show(
    request: PageRequestDep,
    code: Code,
    movement: Annotated[int | None, Query(ge=1, le=2_147_483_647)] = None,
) -> Response:
    """A lot; after a change of its stock, what was booked and how to undo it."""
    try:
        lot = show_lot(request.session, code, today=request.today)
    except (MisreadCode, NotThere) as fault:
        near = near_lots(request.session, code)
        return request.show(
            "lots/pages/lot_not_found.html", status_of(fault), typed=code, fault=fault, near=near
        )
    if lot.code != code:
        asked = f"?movement={movement}" if movement else ""
        return RedirectResponse(f"/lot/{lot.code}{asked}", 303)
    return _page(request, lot, movement)


@router.get("/lot/{code}/life.svg")
def life(request: PageRequestDep, code: Code) -> Response:
    """The picture of a lot's life."""
    drawn = _picture(request, show_viability(request.session, code, today=request.today))
    if drawn is None:
        raise NotThere("picture", code, field="code")
    return picture(request, drawn)


def _picture(request: PageRequest, answer: ViabilityAnswer) -> Figure | None:
    """The picture for a lot's page, of the answer the page shows; of planting stock none."""
    if not answer.curve:
        return None
    stays = show_stays(request.session, answer.lot).items
    return draw_lot_life(answer, stays, request.today, request.local)


def _page(request: PageRequest, lot: LotAnswer, movement: int | None) -> Response:
    session, code, today = request.session, lot.code, request.today
    tests = list_tests(session, TestFilter(lot=code), Paging(_MOST)).items
    sowings = list_sowings(session, SowingFilter(lot=code), Paging(_MOST))
    changes = list_changes(session, Paging(_FEW), lot=code)
    verdict = show_verdict(session, code, today=today)
    life = show_viability(session, code, today=today)
    return request.show(
        "lots/pages/lot.html",
        lot=lot,
        done=None if movement is None else show_change(session, code, movement),
        alone=movement == 1 and _is_alone(request, lot),
        verdict=verdict,
        life=life,
        stays=show_stays(session, code).items,
        picture=_picture(request, life),
        photo_added_at=photo_added_at(session, row_id(find_lot(session, code).id)),
        open_tests=[one for one in tests if one.finished_on is None],
        tests=[one for one in reversed(tests) if one.finished_on is not None][:_FEW],
        sowings=list(reversed(sowings.items))[:_FEW],
        more_sowings=len(sowings.items) > _FEW,
        changes=changes.items,
        more_changes=changes.next is not None,
        pedigree=pedigree_of(show_drift(session, code)) if lot.parents else None,
        origins=words.origins(),
        kept_as=kept_as(),
        isolations=words.isolations(),
        purities=words.purities(),
        seed_forms=words.seed_forms(),
        moved=words.moved(),
        test_faults=test_faults(),
        sources=distinct([*verdict.sources, *life.sources, *lot.sources]),
        verdict_words=verdict_words,
    )


def _is_alone(request: PageRequest, lot: LotAnswer) -> bool:
    """Whether it is the only lot of its variety, which may have been added by a slip of the pen."""
    fellows = LotFilter(variety=lot.variety.id)
    return len(list_lots(request.session, fellows, Paging(2), today=request.today).items) == 1
