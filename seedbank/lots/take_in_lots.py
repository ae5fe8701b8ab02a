"""Lots taken into the collection, described better, moved about, or taken out again."""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from graphlib import CycleError, TopologicalSorter

from sqlmodel import Session, col, select

from seedbank.common.dates import happened, not_to_come
from seedbank.common.errors import CircularParents, Conflict, Refused, StockFault
from seedbank.database.find import named_in, row_id
from seedbank.database.queries import in_parts
from seedbank.database.references import delete_row, first_used
from seedbank.database.transaction import claim_version, put_changes, transaction
from seedbank.facts.kinds import KindFacts
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Kind, Variety, get_variety
from seedbank.lots.answers import LotAnswer, StayAnswer
from seedbank.lots.days import check_came_after_harvest, check_packet, harvested_from
from seedbank.lots.forms import LotChange, LotCreate, StayCreate
from seedbank.lots.show_lots import answer_lot, answer_stay, lot_entry
from seedbank.lots.tables.brought_in import BroughtBy, enter_row
from seedbank.lots.tables.ledger import FirstLedgers, Movement, MovementReason, book
from seedbank.lots.tables.lots import (
    Lot,
    LotParent,
    Origin,
    find_lot,
    lot_named,
    next_codes,
    set_parents,
)
from seedbank.lots.tables.places import Place, Stay, get_place, move_lot, stays
from seedbank.lots.weighing import seed_weight, weigh

_GROWN_HERE = frozenset({Origin.SELF_SAVED, Origin.COLLECTED})
_HARVEST = {"harvest_date", "harvest_year", "harvest_estimated"}
_OF_PACKET = {"printed_test_on", "packed_on", "packed_for", "sow_by"}
_NOT_COLUMNS = {"amount", "amount_note", "parents", "place_id"}


def take_in_lot(session: Session, form: LotCreate, *, today: date, now: datetime) -> LotAnswer:
    """Take a lot in: its code is given out, its first seed booked, its first place noted.

    Seed whose amount isn't told is booked as some, not counted, and so are grams of seed whose
    weight nobody knows; none is booked where none is left.
    A day it came that isn't known stays so; it is in its place from today then.

    Raises Refused: no such variety, place or parent, a parent of an unrelated kind, a day still to
    come or out of order. MisreadCode: of a parent.
    """
    with transaction(session):
        return answer_lot(session, add_lot(session, form, today=today, now=now), today=today)


def add_lot(session: Session, form: LotCreate, *, today: date, now: datetime) -> Lot:
    """The same as part of a larger use case, which needs no answer. Raises as ``take_in_lot``."""
    return add_lots(session, [Arrival(form)], today=today, now=now)[0]


@dataclass(frozen=True, slots=True)
class Arrival:
    """A lot to take in. ``row``: by what it is brought in, its mark and its label there.

    ``code``: it has one already. ``books``: no, where its amounts and places are told elsewhere.
    """

    form: LotCreate
    row: tuple[BroughtBy, str, str] | None = None
    code: str | None = None
    books: bool = True


def add_lots(
    session: Session,
    arrivals: Sequence[Arrival],
    *,
    today: date,
    now: datetime,
    refused: Callable[[int, StockFault], None] | None = None,
) -> list[Lot]:
    """Take in many lots at once, each as ``take_in_lot`` does; they may be parents of each other.

    ``refused`` is told what is wrong with which of them, and nothing more is done with that one:
    its maker must see to it that nothing is kept. Without it the first fault is raised.
    """
    with transaction(session):
        batch = _Batch(session, arrivals, today, now)
        lots = [
            Lot(**one.form.model_dump(exclude=_NOT_COLUMNS), created_at=now) for one in arrivals
        ]
        right = list(range(len(lots)))

        def each(step: Callable[[Lot, Arrival], None]) -> list[int]:
            """Those of the batch that are still right after a step."""
            passed = []
            for position in right:
                try:
                    step(lots[position], arrivals[position])
                    passed.append(position)
                except StockFault as fault:
                    if refused is None:
                        raise
                    refused(position, fault)
            return passed

        right = each(batch.describe)
        session.add_all(lots[position] for position in right)
        session.flush()
        for step in (batch.enter, batch.link, batch.book):
            right = each(step)
        at_fault = batch.circle()
        if at_fault is not None:
            fault = CircularParents(at_fault, batch.lines[at_fault][0])
            if refused is None:
                raise fault
            refused(next(at for at in right if lots[at].id == at_fault), fault)
            return lots
        batch.finish()
        return lots


class _Batch:
    """What the lots of a batch share, looked up once for all of them."""

    def __init__(
        self, session: Session, arrivals: Sequence[Arrival], today: date, now: datetime
    ) -> None:
        self.session, self.today, self.now = session, today, now
        query = select(Variety, Kind).join(Kind, col(Kind.id) == col(Variety.kind_id))
        numbers = {one.form.variety_id for one in arrivals}
        self.varieties: dict[int, tuple[Variety, Kind]] = {
            row_id(variety.id): (variety, kind)
            for part in in_parts(numbers)
            for variety, kind in session.exec(query.where(col(Variety.id).in_(part)))
        }
        self.facts: dict[int, KindFacts] = {}
        own = [one.code for one in arrivals if one.code is not None]
        self.codes = iter(next_codes(session, len(arrivals) - len(own), not_of=own))
        self.ledgers = FirstLedgers()
        self.places: dict[int, Place] = {}
        self.lines: dict[int, list[int]] = {}

    def describe(self, lot: Lot, one: Arrival) -> None:
        """Its code, days and harvest."""
        form = one.form
        lot.code = next(self.codes) if one.code is None else one.code
        if form.variety_id not in self.varieties:
            with named_in("variety_id"):
                get_variety(self.session, form.variety_id)
        if form.acquired_on is not None or "acquired_on" not in form.model_fields_set:
            lot.acquired_on = happened(form.acquired_on, field="acquired_on", today=self.today)
        _settle_harvest(lot, self.today)
        check_packet(lot, self.today)

    def enter(self, lot: Lot, one: Arrival) -> None:
        """What it is known again by; it has its number by now."""
        if one.row is not None:
            enter_row(self.session, lot, *one.row)

    def link(self, lot: Lot, one: Arrival) -> None:
        """Its parents, which no lot here before can descend from."""
        if one.form.parents:
            number = row_id(lot.id)
            self.lines[number] = sorted(set(_parents(self.session, lot, one.form.parents)))

    def book(self, lot: Lot, one: Arrival) -> None:
        """Its first seed and its first place."""
        if not one.books:
            return
        on = lot.acquired_on or self.today
        _book_first(self.ledgers, lot, one.form, self._facts(lot), on=on, now=self.now)
        place_id = one.form.place_id
        if place_id is not None:
            if place_id not in self.places:
                with named_in("place_id"):
                    self.places[place_id] = get_place(self.session, place_id)
            stay = Stay(lot_id=row_id(lot.id), place_id=place_id, from_date=on)
            self.session.add(stay)

    def circle(self) -> int | None:
        """A lot of the batch that would descend from itself."""
        try:
            TopologicalSorter(self.lines).prepare()
        except CycleError as circle:
            return next(int(number) for number in circle.args[1] if number in self.lines)
        return None

    def finish(self) -> None:
        """Write what was gathered."""
        for number, parents in self.lines.items():
            self.session.add_all(LotParent(lot_id=number, parent_id=one) for one in parents)
        self.ledgers.write(self.session)

    def _facts(self, lot: Lot) -> KindFacts:
        variety, kind = self.varieties[lot.variety_id]
        if variety.kind_id not in self.facts:
            self.facts[variety.kind_id] = facts_for(self.session, kind)
        return self.facts[variety.kind_id]


def _check_same_kind(session: Session, lot: Lot, variety: Variety) -> None:
    """Raises Refused: its seed, tests and weights are of another kind than the variety named."""
    now = session.get_one(Variety, lot.variety_id)
    if variety.kind_id != now.kind_id:
        raise Refused("lot-of-another-kind", "variety_id", variety.id, lot=lot.code)


def change_lot(
    session: Session,
    code: str,
    form: LotChange,
    *,
    expected: Collection[int] | None,
    today: date,
) -> LotAnswer:
    """Change what the form names. Its amount changes by movements only.

    Raises MisreadCode, NotThere, StaleVersion, CircularParents, Refused: as taking in.
    """
    with transaction(session):
        lot = find_lot(session, code)
        claim_version(session, lot, what="lot", expected=expected)
        if "variety_id" in form.model_fields_set:
            with named_in("variety_id"):
                _check_same_kind(session, lot, get_variety(session, form.variety_id))
        put_changes(lot, form, leave_out={"parents"})
        if "harvest_date" in form.model_fields_set and "harvest_year" not in form.model_fields_set:
            lot.harvest_year = None
        if form.model_fields_set & {*_HARVEST, "acquired_on"}:
            _settle_harvest(lot, today)
        if form.model_fields_set & {*_HARVEST, *_OF_PACKET, "acquired_on"}:
            check_packet(lot, today)
        if form.model_fields_set & _HARVEST:
            _check_used_since(session, lot)
        if "thousand_seed_weight_g" in form.model_fields_set and (
            "thousand_seed_weight_se_g" not in form.model_fields_set
        ):
            lot.thousand_seed_weight_se_g = None  # it belonged to the weight before
        session.add(lot)
        session.flush()
        if "parents" in form.model_fields_set:
            numbers = list(_parents(session, lot, form.parents))
            with named_in("parents"):
                set_parents(session, row_id(lot.id), numbers)
        return answer_lot(session, lot, today=today)


def _check_used_since(session: Session, lot: Lot) -> None:
    """Raises Refused: it was tested or sown before the harvest it is now said to be of."""
    first = harvested_from(lot)
    if first is None or lot.harvest_estimated:
        return
    used = first_used(session, lot)
    if used is not None and used < first:
        field = "harvest_year" if lot.harvest_date is None else "harvest_date"
        raise Refused(
            "lot-used-before-harvest",
            field,
            getattr(lot, field),
            lot=lot.code,
            used=used,
        )


def delete_lot(session: Session, code: str, *, expected: Collection[int] | None) -> None:
    """Take out a lot that never held seed.

    Raises MisreadCode, NotThere, StaleVersion, Conflict: it has movements, tests, sowings or
    offspring. Seed is never lost by deleting.
    """
    with transaction(session):
        lot = find_lot(session, code)
        claim_version(session, lot, what="lot", expected=expected)
        refusal = Conflict("lot-has-history", "code", lot.code, lot=lot.code)
        delete_row(session, lot, refusal)


def move_lot_to(session: Session, code: str, form: StayCreate, *, today: date) -> StayAnswer:
    """Put a lot in a place from a day on; a second place on one day replaces the first.

    Raises MisreadCode, NotThere: the lot. Refused: no such place, or a day still to come.
    """
    with transaction(session):
        lot = find_lot(session, code)
        stay = put_in_place(session, lot, form, today=today)
        history = stays(session, [row_id(lot.id)])[row_id(lot.id)]
        return next(answer_stay(lot, entry) for entry in history if entry.stay.id == stay.id)


def put_in_place(
    session: Session, lot: Lot, form: StayCreate, *, today: date, first: bool = False
) -> Stay:
    """The same as part of a larger use case, which needs no answer. Raises Refused.

    ``first``: the lot has no stay on that day, and the place is known to be there.
    """
    day = happened(form.from_date, field="from_date", today=today)
    number, place_id = row_id(lot.id), form.place_id
    anew = form.sealed_anew
    if anew and (place := session.get(Place, place_id)) and not place.sealed:
        raise Refused("place-not-sealed", "sealed_anew", True, place=place.name)
    if first:
        stay = Stay(lot_id=number, place_id=place_id, from_date=day, sealed_anew=anew)
        session.add(stay)
    else:
        with named_in("place_id"):
            stay = move_lot(
                session, lot_id=number, place_id=place_id, from_date=day, sealed_anew=anew
            )
    return stay


def _parents(session: Session, lot: Lot, codes: list[str]) -> Iterator[int]:
    for position, code in enumerate(codes):
        parent = lot_named(session, code, field=f"parents[{position}]")
        _check_related(session, lot, parent, field=f"parents[{position}]")
        yield row_id(parent.id)


def _check_related(session: Session, lot: Lot, parent: Lot, *, field: str) -> None:
    """Raises Refused: the parent is of a kind that doesn't cross with the lot's."""
    kinds = [lot_entry(session, one).kind for one in (lot, parent)]
    if kinds[0].id == kinds[1].id:
        return
    facts = [facts_for(session, kind).crossing_group for kind in kinds]
    own, other = (fact.value if fact else None for fact in facts)
    if own is None or own != other:
        raise Refused(
            "parent-of-unrelated-kind",
            field,
            parent.code,
            parent_kind=kinds[1].name,
            kind=kinds[0].name,
        )


def _book_first(
    ledgers: FirstLedgers, lot: Lot, form: LotCreate, facts: KindFacts, *, on: date, now: datetime
) -> None:
    amount, first = form.amount, _uncounted(lot, on, now)
    first.note = form.amount_note
    if amount is not None:
        if amount.seeds == 0:
            return
        weight = seed_weight(lot, facts)
        if weight is None and amount.grams is not None:
            first.grams = amount.grams  # how many seeds that is nobody knows
        else:
            weighed = weigh(
                seeds=amount.seeds, grams=amount.grams, seeds_se=amount.seeds_se, weight=weight
            )
            first.seeds, first.seeds_se = weighed.seeds, weighed.seeds_se
            first.grams, first.thousand_seed_weight_g = weighed.grams, weighed.tsw_g
    ledgers.book(first)


def book_uncounted(session: Session, lot: Lot, *, on: date, now: datetime) -> None:
    """Book that some seed came into a lot, which nobody has counted. Commits nothing."""
    book(session, _uncounted(lot, on, now))


def _uncounted(lot: Lot, on: date, now: datetime) -> Movement:
    number = row_id(lot.id)
    return Movement(lot_id=number, on_date=on, reason=_came_by(lot), recorded_at=now)


def _came_by(lot: Lot) -> MovementReason:
    return MovementReason.HARVESTED if lot.origin in _GROWN_HERE else MovementReason.ACQUIRED


def _settle_harvest(lot: Lot, today: date) -> None:
    """Fill the year from the date, and see that the days make sense together."""
    if lot.harvest_date is not None:
        if lot.harvest_year not in (None, lot.harvest_date.year):
            raise Refused(
                "harvest-date-of-other-year",
                "harvest_year",
                lot.harvest_year,
                year=lot.harvest_date.year,
            )
        lot.harvest_year = lot.harvest_date.year
    if lot.harvest_year is not None and lot.harvest_year > today.year:
        raise Refused("harvest-year-to-come", "harvest_year", lot.harvest_year, year=today.year)
    not_to_come(lot.harvest_date, field="harvest_date", today=today)
    not_to_come(lot.acquired_on, field="acquired_on", today=today)
    check_came_after_harvest(lot)
