"""One lot at the bench: what it is, how much is left, how alive it is, what to do with it."""

from collections.abc import Sequence
from typing import Annotated

from fastapi import Path, Query, Response
from starlette.responses import RedirectResponse

from seedbank.common.answers import FindingAnswer, distinct
from seedbank.common.errors import MisreadCode, NotThere
from seedbank.database.find import about, row_id
from seedbank.database.queries import Paging
from seedbank.emergence.tables import SowingFilter
from seedbank.germination.show_tests import list_tests
from seedbank.germination.tables import TestFilter
from seedbank.germination.words import test_faults
from seedbank.kinds.words import kept_as
from seedbank.lots import words
from seedbank.lots.answers import LotAnswer
from seedbank.lots.pages.emergence_figure import EmergenceFigure, draw_emergence
from seedbank.lots.pages.lot_life_figure import draw_lot_life
from seedbank.lots.show_lots import answer_lots, list_lots, show_stays
from seedbank.lots.tables.lot_search import LotEntry, LotFilter, entry_by_code
from seedbank.lots.tables.lots import Origin
from seedbank.lots.tables.photos import photo_added_at
from seedbank.overview.find_lots import near_lots
from seedbank.overview.list_changes import list_changes, show_change
from seedbank.saving.show_lines import pedigree_of, show_drift
from seedbank.science.quantities import Finding
from seedbank.science.verdicts.row_decision import ROW_M
from seedbank.sowing.answers import SowingSummary
from seedbank.sowing.show_sowings import list_sowings, show_sowing
from seedbank.verdicts.answers import VerdictAnswer
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.verdicts.spare_seed import seed_to_keep_of_lot
from seedbank.viability.show_viability import show_viability
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, status_of
from seedbank.web.pages.page_route import page_router

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
        with about("code"):
            entry = entry_by_code(request.session, code)
    except (MisreadCode, NotThere) as fault:
        near = near_lots(request.session, code)
        return request.show(
            "lots/pages/lot_not_found.html", status_of(fault), typed=code, fault=fault, near=near
        )
    if entry.lot.code != code:
        asked = f"?movement={movement}" if movement else ""
        return RedirectResponse(f"/lot/{entry.lot.code}{asked}", 303)
    return _page(request, entry, movement)


def _page(request: PageRequest, entry: LotEntry, movement: int | None) -> Response:
    session, code, today = request.session, entry.lot.code, request.today
    lot = answer_lots(session, [entry], today=today)[0]
    tests = list_tests(session, TestFilter(lot=code), Paging(_MOST)).items
    sowings = list_sowings(session, SowingFilter(lot=code), Paging(_MOST))
    changes = list_changes(session, Paging(_FEW), lot=code)
    verdict = show_verdict(session, code, today=today)
    life = show_viability(session, code, today=today)
    stays = show_stays(session, code).items
    counted = [one for one in sowings.items if one.units_emerged is not None]
    return request.show(
        "lots/pages/lot.html",
        lot=lot,
        done=None if movement is None else show_change(session, code, movement),
        alone=movement == 1 and _is_alone(request, lot),
        verdict=verdict,
        life=life,
        stays=stays,
        kind_name=entry.kind.name,
        photo_added_at=photo_added_at(session, row_id(entry.lot.id)),
        enough=_enough(verdict),
        to_keep=seed_to_keep_of_lot(session, code, today=today)
        if lot.origin is Origin.SELF_SAVED
        else None,
        picture=draw_lot_life(life, stays, today, request.local, verdict)
        if life.now.reckoned
        else None,
        last_up=_last_up(request, counted),
        cautions=sorted(lot.cautions, key=lambda one: not one.who_decides),
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
    )


def _enough(verdict: VerdictAnswer) -> FindingAnswer | None:
    """How many rows it does; None: not known, or none."""
    rows = verdict.in_rows and verdict.in_rows.rows
    if not rows:
        return None
    short = rows < 1.0
    values = {"rows": rows, "under_one": short, "row_m": ROW_M * (rows if short else 1.0)}
    return FindingAnswer.of(Finding("enough-for-rows", values))


def _last_up(request: PageRequest, counted: Sequence[SowingSummary]) -> EmergenceFigure | None:
    """What came up of the last sowing that was counted."""
    if not counted:
        return None
    return draw_emergence(show_sowing(request.session, counted[-1].id), request.local)


def _is_alone(request: PageRequest, lot: LotAnswer) -> bool:
    """Whether it is the only lot of its variety, which may have been added by a slip of the pen."""
    fellows = LotFilter(variety=lot.variety.id)
    return len(list_lots(request.session, fellows, Paging(2), today=request.today).items) == 1
