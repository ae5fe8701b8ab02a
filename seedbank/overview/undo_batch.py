"""Undoing work on many lots: each gets its own place, amount and keepers back, or none does."""

import json
from datetime import date, datetime
from typing import Any

from sqlmodel import Session, col, select

from seedbank.common.catalogue import text_of
from seedbank.common.errors import Conflict, StockFault
from seedbank.database.find import row_id
from seedbank.database.transaction import claim_version, transaction
from seedbank.germination.tables import GerminationTest
from seedbank.kinds.edit_varieties import set_keepers
from seedbank.kinds.tables import OtherKeepers, Variety
from seedbank.lots.move_seed import undo
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.tables.places import Place, Stay
from seedbank.overview.answers import BatchAnswer
from seedbank.overview.tables import Batch, BatchWork, find_batch
from seedbank.overview.undo_obstacles import obstacles
from seedbank.overview.work_on_lots import answer_batch, named
from seedbank.science.quantities import Finding
from seedbank.sowing.record_sowing import delete_test


def undo_batch(session: Session, number: int, *, today: date, now: datetime) -> BatchAnswer:
    """Undo all of it.

    Raises NotThere, Conflict: it is undone already, or some lots have been moved, counted, used or
    told of since; their codes are named.
    """
    with transaction(session):
        batch = find_batch(session, number)
        if batch.undone_at is not None:
            raise Conflict("batch-undone-already", "id", number)
        claim_version(session, batch, what="batch", expected={batch.version})
        parts: list[dict[str, Any]] = json.loads(batch.parts)
        offending = _offending(session, batch, parts)
        if offending:
            raise Conflict(
                "batch-not-undone", "id", number, codes=named(offending), lots=len(offending)
            )
        note = text_of(Finding("undoes-batch", {"number": str(number)}))
        for part in parts:
            _undo_part(session, batch, part, note, today, now)
        batch.undone_at = now
        session.add(batch)
        session.flush()
        return answer_batch(batch)


def _offending(session: Session, batch: Batch, parts: list[dict[str, Any]]) -> list[str]:
    """Codes of the lots whose part can't be undone any more."""
    match batch.work:
        case BatchWork.MOVE:
            return [part["code"] for part in parts if not _stays_there(session, batch, part)]
        case BatchWork.GIVE | BatchWork.THROW_OUT:
            ids = [part["movement"] for part in parts]
            movements = session.exec(select(Movement).where(col(Movement.id).in_(ids))).all()
            hindered = obstacles(session, movements)
            return [part["code"] for part in parts if part["movement"] in hindered]
        case BatchWork.TEST:
            ids = [part["test"] for part in parts]
            query = select(GerminationTest.id, GerminationTest.version)
            rows = session.exec(query.where(col(GerminationTest.id).in_(ids)))
            untouched = {number for number, version in rows if version == 1}
            return [part["code"] for part in parts if part["test"] not in untouched]
        case BatchWork.KEEPERS:
            kept = {part["variety"]: session.get(Variety, part["variety"]) for part in parts}
            return [
                part["code"]
                for part in parts
                if (one := kept[part["variety"]]) is None or one.other_keepers != batch.target
            ]


def _stays_there(session: Session, batch: Batch, part: dict[str, Any]) -> bool:
    """Whether a lot is where it was put, and the place it was in that day is still there."""
    stays = session.exec(
        select(Stay)
        .where(Stay.lot_id == part["lot"], col(Stay.from_date) >= batch.on_date)
        .order_by(col(Stay.from_date))
    ).all()
    there = len(stays) == 1 and stays[0].place_id == batch.place_id
    before = part["before"]
    return (
        there
        and stays[0].from_date == batch.on_date
        and (before is None or session.get(Place, before) is not None)
    )


def _undo_part(
    session: Session,
    batch: Batch,
    part: dict[str, Any],
    note: str,
    today: date,
    now: datetime,
) -> None:
    match batch.work:
        case BatchWork.MOVE:
            stay = session.exec(
                select(Stay).where(Stay.lot_id == part["lot"], Stay.from_date == batch.on_date)
            ).one()
            if part["before"] is None:
                session.delete(stay)
            else:
                stay.place_id, stay.sealed_anew = part["before"], part["sealed"]
                session.add(stay)
            session.flush()
        case BatchWork.GIVE | BatchWork.THROW_OUT:
            movement = session.get_one(Movement, part["movement"])
            try:
                undo(session, movement, on=today, note=note, now=now)
            except StockFault as fault:
                raise Conflict(
                    "batch-not-undone", "id", row_id(batch.id), codes=part["code"], lots=1
                ) from fault
        case BatchWork.TEST:
            delete_test(session, part["test"], expected={1}, today=today, now=now)
        case BatchWork.KEEPERS:
            variety = session.get_one(Variety, part["variety"])
            keepers = OtherKeepers(part["keepers"])
            set_keepers(session, variety, keepers, unknown=part["unknown"])
