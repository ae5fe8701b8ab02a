"""Lots that were made of rows of somebody's own sheet."""

from sqlmodel import Session, col, select

from seedbank.database.find import row_id
from seedbank.interchange.spreadsheet.answers import SheetLot
from seedbank.interchange.spreadsheet.rows import MARK
from seedbank.kinds.tables.kinds import Kind
from seedbank.kinds.tables.varieties import Variety
from seedbank.lots.tables.balances import balances
from seedbank.lots.tables.lots import Lot, find_lot


def lots_taken_in(session: Session, first: str, last: str) -> list[SheetLot]:
    """Lots made of rows, from the one with the code ``first`` to ``last``, in order.

    Raises NotThere, MisreadCode: one of the two.
    """
    ends = sorted(row_id(find_lot(session, code).id) for code in (first, last))
    query = (
        select(Lot, Variety.name, Kind.name)
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(col(Lot.id) >= ends[0], col(Lot.id) <= ends[1])
        .order_by(col(Lot.id))
    )
    rows = [row for row in session.exec(query) if MARK.search(row[0].notes)]
    held = balances(session, [row_id(lot.id) for lot, _, _ in rows])
    return [
        SheetLot(code=lot.code, variety=variety, kind=kind, seeds=held[row_id(lot.id)].seeds)
        for lot, variety, kind in rows
    ]
