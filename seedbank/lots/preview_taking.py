"""What is left of a lot, and of its variety, if some seed is given away or thrown out."""

from sqlmodel import Session, select

from seedbank.common.errors import NotEnoughSeed
from seedbank.database.find import row_id
from seedbank.kinds.kind_facts import facts_for
from seedbank.lots.answers.lots import TakingForeseen
from seedbank.lots.forms.movements import Amount
from seedbank.lots.show_lots import lot_entry
from seedbank.lots.tables.balances import balances, total_seeds
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.lots.weighing import grams_of, seed_weight, weigh


def foresee_taking(session: Session, code: str, amount: Amount) -> TakingForeseen:
    """What would be left. Raises MisreadCode, NotThere, NotEnoughSeed, Refused: as taking it."""
    entry = lot_entry(session, find_lot(session, code))
    weight = seed_weight(entry.lot, facts_for(session, entry.kind))
    taken = weigh(
        seeds=amount.seeds, grams=amount.grams, seeds_se=amount.seeds_se, weight=weight
    ).seeds
    fellows = session.exec(select(Lot.id).where(Lot.variety_id == entry.variety.id))
    held = balances(session, [row_id(number) for number in fellows])
    mine = held[row_id(entry.lot.id)].seeds
    if mine is not None and taken > mine:
        field = "amount.seeds" if amount.seeds else "amount.grams"
        raise NotEnoughSeed(entry.lot.code, taken, mine, field=field)
    together = total_seeds(held.values())
    reserve = entry.variety.reserve_seeds
    warnings = (
        [
            f"All lots of {entry.variety.name} together would then hold {together - taken} seeds, "
            f"under the reserve of {reserve}."
        ]
        if together is not None and together - taken < reserve
        else []
    )
    left = None if mine is None else mine - taken
    return TakingForeseen(
        seeds=taken,
        grams=grams_of(taken, weight),
        left_seeds=left,
        left_grams=None if left is None else grams_of(left, weight),
        warnings=warnings,
    )
