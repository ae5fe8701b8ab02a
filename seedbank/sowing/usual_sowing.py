"""How a variety is usually sown: where the question of how thickly begins."""

from sqlmodel import Session

from seedbank.common.answers import VarietyBrief
from seedbank.database.find import row_id
from seedbank.kinds.kind_facts import facts_for
from seedbank.kinds.tables.kinds import Kind
from seedbank.kinds.tables.varieties import OtherKeepers, Variety, find_variety
from seedbank.lots.tables.lots import find_lot
from seedbank.sowing.answers.sowers import UsualSowingAnswer
from seedbank.sowing.setting import usual_method, usual_protection


def usual_sowing_of_lot(session: Session, code: str) -> UsualSowingAnswer:
    """How a lot is usually sown. Raises MisreadCode, NotThere."""
    lot = find_lot(session, code)
    return _usual(session, session.get_one(Variety, lot.variety_id), lot.code)


def usual_sowing_of_variety(session: Session, number: int) -> UsualSowingAnswer:
    """How a variety is usually sown. Raises NotThere."""
    return _usual(session, find_variety(session, number), "")


def _usual(session: Session, variety: Variety, lot: str) -> UsualSowingAnswer:
    kind = session.get_one(Kind, variety.kind_id)
    facts = facts_for(session, kind)
    method = usual_method(facts)
    rare = variety.other_keepers is not OtherKeepers.MANY
    return UsualSowingAnswer(
        variety=VarietyBrief(id=row_id(variety.id), name=variety.name, kind=kind.slug),
        lot=lot,
        plants_wanted=variety.plants_wanted,
        method=method,
        protection=usual_protection(method),
        spacing_cm=facts.in_row_cm.value.typical if facts.in_row_cm else None,
        has_reserve=rare and variety.reserve_seeds > 0,
    )
