"""Mixtures: made of lots here, each of which gives its share, or told of one that was bought."""

import math
from collections.abc import Collection
from datetime import date, datetime

from sqlmodel import Session

from seedbank.common.catalogue import text_of
from seedbank.common.errors import Refused
from seedbank.database.find import row_id
from seedbank.database.transaction import claim_version, transaction
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.edit_varieties import add_variety
from seedbank.kinds.forms import VarietyCreate
from seedbank.kinds.tables import varieties_named
from seedbank.lots.answers import LotAnswer
from seedbank.lots.days import since_harvest
from seedbank.lots.forms import Amount, LotCreate, MixtureCreate, MixtureTold
from seedbank.lots.move_seed import taking
from seedbank.lots.show_lots import answer_lot, lot_entry
from seedbank.lots.tables.ledger import Movement, MovementReason, book
from seedbank.lots.tables.lots import Lot, Origin, find_lot, lot_named
from seedbank.lots.tables.mixtures import MixturePart, set_parts
from seedbank.lots.take_in_lots import Arrival, add_lots
from seedbank.lots.weighing import Weighed, seed_weight, weigh
from seedbank.science.quantities import Finding


def mix_lots(session: Session, form: MixtureCreate, *, today: date, now: datetime) -> LotAnswer:
    """Make a mixture of seed taken out of lots here; it remembers what it was made of.

    Its shares are by number of seeds. Raises Refused: no such lot or variety, one named twice,
    planting stock, grams of seed whose weight nobody knows, a share of less than one seed.
    NotEnoughSeed.
    """
    with transaction(session):
        amounts = _amounts(form)
        given = [(at, *_given(session, form, at, amounts[at])) for at in range(len(form.parts))]
        seeds = sum(weighed.seeds for _, _, weighed in given)
        told = {
            "variety_id": _variety(session, form, given[0][1]),
            "origin": _origin([lot for _, lot, _ in given]),
            "acquired_on": today,
            "amount": {
                "seeds": seeds,
                "seeds_se": math.hypot(*(weighed.seeds_se for _, _, weighed in given)),
            },
            "place_id": form.place_id,
            "notes": form.notes,
        }
        arrival = Arrival(LotCreate.model_validate(told))
        mixture = add_lots(session, [arrival], today=today, now=now)[0]
        for at, lot, weighed in given:
            since_harvest(lot, today, field=f"parts[{at}].lot", today=today)
            with taking(lot, field=f"parts[{at}].amount"):
                book(session, _taken(lot, weighed, mixture, today, now))
        parts = [
            MixturePart(lot_id=0, position=0, part_id=lot.id, share=weighed.seeds / seeds)
            for _, lot, weighed in given
        ]
        set_parts(session, row_id(mixture.id), parts)
        return answer_lot(session, mixture, today=today)


def tell_mixture(
    session: Session,
    code: str,
    form: MixtureTold,
    *,
    expected: Collection[int] | None,
    today: date,
) -> LotAnswer:
    """Say what a lot is a mixture of, in place of what was said before; of nothing: it is none.

    Raises MisreadCode, NotThere, StaleVersion, Refused: no such lot, itself or one named twice.
    """
    with transaction(session):
        lot = find_lot(session, code)
        claim_version(session, lot, what="lot", expected=expected)
        put_parts(session, lot, form)
        session.add(lot)
        session.flush()
        return answer_lot(session, lot, today=today)


def put_parts(session: Session, lot: Lot, form: MixtureTold) -> None:
    """The same as part of a larger use case. Raises Refused."""
    parts: list[MixturePart] = []
    for at, one in enumerate(form.parts):
        field = f"parts[{at}].lot"
        part = None if one.lot is None else lot_named(session, one.lot, field=field)
        if part is not None and (part.id == lot.id or part.id in {p.part_id for p in parts}):
            raise Refused("mixture-part-twice", field, part.code)
        parts.append(
            MixturePart(
                lot_id=0,
                position=0,
                part_id=None if part is None else part.id,
                name=one.name,
                share=one.share,
            )
        )
    set_parts(session, row_id(lot.id), parts)


def _amounts(form: MixtureCreate) -> list[Amount]:
    """How much each part gives; of shares whole seeds that come to all, the largest rests up.

    Raises Refused: a share that comes to no seed.
    """
    if form.seeds is None:
        return [one.amount for one in form.parts if one.amount is not None]
    shares = [one.share or 0.0 for one in form.parts]
    exact = [form.seeds * share / sum(shares) for share in shares]
    seeds = [math.floor(one) for one in exact]
    rests = sorted(range(len(seeds)), key=lambda at: seeds[at] - exact[at])
    for at in rests[: form.seeds - sum(seeds)]:
        seeds[at] += 1
    if 0 in seeds:
        at = seeds.index(0)
        field, pct = f"parts[{at}].share", 100.0 * shares[at]
        raise Refused("mixture-share-of-no-seed", field, shares[at], pct=pct, seeds=form.seeds)
    return [Amount(seeds=some) for some in seeds]


def _variety(session: Session, form: MixtureCreate, first: Lot) -> int:
    """The variety it is filed under: a new one, if its kind has none of that name."""
    if form.variety is None:
        assert form.variety_id is not None  # the form sees to it
        return form.variety_id
    kind = lot_entry(session, first).kind
    known = varieties_named(session, form.variety, kind_id=kind.id)
    exact = [one for one in known if one.variety.name == form.variety]
    if exact or len(known) == 1:
        return row_id((exact or known)[0].variety.id)
    return add_variety(session, VarietyCreate(kind=kind.slug, name=form.variety)).id


def _given(session: Session, form: MixtureCreate, at: int, amount: Amount) -> tuple[Lot, Weighed]:
    """The lot a part is of, and how many seeds of it. Raises Refused."""
    one, field = form.parts[at], f"parts[{at}].lot"
    lot = lot_named(session, one.lot, field=field)
    before = {lot_named(session, other.lot, field=field).id for other in form.parts[:at]}
    if lot.id in before:
        raise Refused("mixture-part-twice", field, lot.code)
    facts = facts_for(session, lot_entry(session, lot).kind)
    if facts.is_planting_stock(lot.kept_as):
        raise Refused("planting-stock-not-mixed", field, lot.code)
    weighed = weigh(
        seeds=amount.seeds,
        grams=amount.grams,
        seeds_se=amount.seeds_se,
        weight=seed_weight(lot, facts),
        field=f"parts[{at}].amount",
    )
    return lot, weighed


def _taken(lot: Lot, weighed: Weighed, mixture: Lot, today: date, now: datetime) -> Movement:
    return Movement(
        lot_id=row_id(lot.id),
        on_date=today,
        reason=MovementReason.GIVEN,
        seeds=-weighed.seeds,
        seeds_se=weighed.seeds_se,
        grams=weighed.grams,
        thousand_seed_weight_g=weighed.tsw_g,
        note=text_of(Finding("mixed-into", {"lot": mixture.code})),
        recorded_at=now,
    )


def _origin(lots: list[Lot]) -> Origin:
    """How its seed came here: as that of its parts, if all came in one way."""
    origins = {lot.origin for lot in lots}
    return origins.pop() if len(origins) == 1 else Origin.SELF_SAVED
