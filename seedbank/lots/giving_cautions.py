"""What to beware of when seed of a lot goes to someone else."""

from sqlmodel import Session

from seedbank.common.answers import CautionAnswer
from seedbank.facts.cautions import Situation
from seedbank.kinds.kind_facts import facts_for
from seedbank.lots.show_lots import lot_cautions, lot_entry
from seedbank.lots.tables.lots import find_lot


def giving_cautions(session: Session, code: str) -> list[CautionAnswer]:
    """Cautions of the lot, of moving seed and of selling it. Raises MisreadCode, NotThere."""
    entry = lot_entry(session, find_lot(session, code))
    facts = facts_for(session, entry.kind)
    return lot_cautions(entry.lot, facts, (Situation.MOVING, Situation.SELLING))
