"""Lots looked for: by words, place and verdict, each with how alive it is today."""

from datetime import date

from sqlmodel import Session

from seedbank.common.answers import FindingAnswer
from seedbank.common.errors import MisreadCode
from seedbank.database.find import named_in, row_id
from seedbank.database.queries import Page, Paging
from seedbank.lots.answers import LotAnswer
from seedbank.lots.show_lots import answer_lots, variety_brief
from seedbank.lots.tables.lot_codes import LONGEST_CODE, normalise_code, slips
from seedbank.lots.tables.lot_search import LotEntry, LotFilter, LotOrder, find_or_near, lots_coded
from seedbank.lots.tables.places import get_place, lots_kept_in
from seedbank.overview.answers import FoundLot, NearLot
from seedbank.overview.forms import LotQuestion
from seedbank.verdicts.judge_lots import Judgement, judge_collection
from seedbank.verdicts.list_verdicts import alive_today, lots_with_verdict


def look_for_lots(
    session: Session, asked: LotQuestion, paging: Paging, *, today: date
) -> Page[FoundLot]:
    """Lots that answer to what is asked, by the name of their variety.

    Raises Refused: no such place. BadValue: the cursor.
    """
    wanted, among = LotFilter(q=asked.words or None), _among(session, asked, today)
    page = find_or_near(session, wanted, paging, order=LotOrder.VARIETY, ids=among)
    judged = judge_collection(session, today=today)
    places = {int(number): at for at, number in enumerate(judged.forecast.collection.lot_id)}
    lots = answer_lots(session, page.items, today=today)
    found = [
        _found(entry, judged, places.get(row_id(entry.lot.id)), lot)
        for entry, lot in zip(page.items, lots, strict=True)
    ]
    return Page(found, page.next, page.near)


def whole_code(session: Session, text: str) -> str | None:
    """The code of the lot that ``text`` names and no other; None if it names none."""
    try:
        code = normalise_code(text)
    except MisreadCode:
        return None
    return code if lots_coded(session, [code]) else None


def near_lots(session: Session, text: str) -> list[NearLot]:
    """Lots whose code is one slip of the pen from ``text``."""
    if len(text) > 2 * LONGEST_CODE:
        return []
    near = slips(text)
    return [
        NearLot(
            code=entry.lot.code,
            variety=variety_brief(entry),
            kind_name=entry.kind.name,
            slip=FindingAnswer.of(near[entry.lot.code]),
        )
        for entry in lots_coded(session, near)
    ]


def _among(session: Session, asked: LotQuestion, today: date) -> frozenset[int] | None:
    """Ids of the lots in the place and with the verdict asked for; None: any."""
    among: frozenset[int] | None = None
    if asked.place is not None:
        with named_in("place"):
            get_place(session, asked.place)
        among = lots_kept_in(session, asked.place, today)
    if asked.verdict is not None:
        judged = lots_with_verdict(session, asked.verdict, today=today)
        among = judged if among is None else among & judged
    return among


def _found(entry: LotEntry, judged: Judgement, at: int | None, lot: LotAnswer) -> FoundLot:
    return FoundLot(
        lot=lot,
        kind_name=entry.kind.name,
        viability=None if at is None else alive_today(judged, at),
        verdict=None if at is None else judged.verdicts.verdict(at),
        begun=at is not None and bool(judged.begun[at]),
    )
