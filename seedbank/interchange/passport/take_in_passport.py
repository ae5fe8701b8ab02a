"""Taking in seed that came with a passport: the lot is made with its past, so that it is judged
here from the same evidence as it was there."""

from datetime import date, datetime

from sqlmodel import Session, col, select

from seedbank.common.errors import Refused
from seedbank.database.find import named_in, row_id
from seedbank.database.transaction import transaction
from seedbank.germination.forms import TestStart
from seedbank.germination.run_tests import new_test
from seedbank.germination.tables import SeedCounts, finish, record_count, set_replicates
from seedbank.interchange.filled_forms import filled
from seedbank.interchange.passport.forms import (
    Passport,
    PassportArrival,
    PassportTakenIn,
    PassportTest,
    check_passport,
)
from seedbank.interchange.passport.queries import (
    lot_of_passport,
    places_called,
    variety_named,
)
from seedbank.kinds.edit_kinds import add_kind, facts_for
from seedbank.kinds.edit_varieties import add_variety
from seedbank.kinds.forms import KindCreate, VarietyCreate
from seedbank.kinds.tables import FactName, Kind, get_kind
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import LotCreate, PlaceCreate
from seedbank.lots.show_lots import answer_lot
from seedbank.lots.tables.brought_in import BroughtBy
from seedbank.lots.tables.ledger import Movement, MovementReason, book
from seedbank.lots.tables.lots import Lot, LotFields, Origin
from seedbank.lots.tables.places import get_place, move_lot
from seedbank.lots.take_in_lots import Arrival, add_lots

NOT_KNOWN_WHERE = "Not known where"
_SOMEBODY = "another keeper"
_LONGEST_NAME, _LONGEST_NOTES = 120, 4000


def take_in_passport(
    session: Session, form: PassportArrival, *, today: date, now: datetime
) -> PassportTakenIn:
    """Make the lot a passport tells of; the same passport again gives the same lot.

    Its harvest, stays and finished tests are those of the giver, the tests taking no seed here.
    From the day it was given until it is put away its store isn't known. Bought seed stays bought:
    what sellers must keep to still tells about it. Other seed counts as a gift.

    Raises Refused: a field that can't be true, the kind's name is another plant's here, no such
    place. Nothing is changed then.
    """
    passport = form.passport
    check_passport(form, today=today)
    with transaction(session):
        lot, already = lot_of_passport(session, passport.digest), True
        if lot is None:
            lot, already = _make(session, form, received=form.received_on or today, now=now), False
        return PassportTakenIn(
            lot=answer_lot(session, lot, today=today),
            already=already,
            tests=len(passport.tests),
            stays=len(passport.stays),
            said=_remarks(form, already),
        )


def _remarks(form: PassportArrival, already: bool) -> list[str]:
    passport = form.passport
    if already:
        return ["This passport was taken in before; nothing was booked again."]
    remarks = []
    if form.place_id is None:
        remarks.append("Put it away: until a place is given, its store counts as not known.")
    if passport.harvest_year is None and passport.harvest_date is None:
        remarks.append("The giver doesn't know its harvest either, so its age is a guess.")
    return remarks


def _make(session: Session, form: PassportArrival, *, received: date, now: datetime) -> Lot:
    passport = form.passport
    if form.place_id is not None:
        with named_in("place_id"):
            get_place(session, form.place_id)
    lot_fields = passport.model_dump(include=set(LotFields.model_fields)) | {
        "variety_id": _variety(session, passport),
        "origin": Origin.BOUGHT if passport.origin is Origin.BOUGHT else Origin.GIFT,
        "donor": passport.keeper,  # and the lot's code in its notes: all their lots are of one hand
        "acquired_on": _acquired(passport, received),
        "generation": 0,
        "notes": _notes(passport),
    }
    row = (BroughtBy.PASSPORT, passport.digest, "")
    arrival = Arrival(filled(LotCreate, lot_fields), row, books=False)
    lot = add_lots(session, [arrival], today=received, now=now)[0]
    number = row_id(lot.id)
    _put_through(session, number, form, received)
    for position, test in enumerate(passport.tests):
        _test(session, lot, passport, test, f"passport.tests[{position}]", now)
    given = Movement(
        lot_id=number,
        on_date=received,
        reason=MovementReason.ACQUIRED,
        seeds=passport.given_seeds,
        seeds_se=passport.given_seeds_se if passport.given_seeds is not None else 0.0,
        note=f"passport {passport.digest}",
        recorded_at=now,
    )
    book(session, given)
    return lot


def _acquired(passport: Passport, received: date) -> date | None:
    """Day it came here; where only the day the giver got it tells how old it is, that day.

    Not known of bought seed of which that isn't told: it would pass for seed bought fresh.
    """
    if passport.harvest_year is not None or passport.harvest_date is not None:
        return received
    if passport.acquired_on is None and passport.origin is Origin.BOUGHT:
        return None
    return passport.acquired_on or received


def _variety(session: Session, passport: Passport) -> int:
    described = passport.variety
    kind = _kind(session, passport)
    variety = variety_named(session, row_id(kind.id), described.name)
    if variety is not None:
        return row_id(variety.id)
    form = VarietyCreate(kind=kind.slug, name=described.name, breeding=described.breeding)
    return add_variety(session, form).id


def _kind(session: Session, passport: Passport) -> Kind:
    variety = passport.variety
    kind = session.exec(select(Kind).where(col(Kind.slug) == variety.kind)).first()
    if kind is None:
        source = f"passport of {passport.keeper or _SOMEBODY}"
        fact = {"name": FactName.BOTANICAL, "value": variety.botanical, "source": source}
        facts = [fact] if variety.botanical else []
        form = filled(KindCreate, {"slug": variety.kind, "name": variety.kind_name, "facts": facts})
        return get_kind(session, add_kind(session, form).slug)
    here = facts_for(session, kind).botanical
    if (
        here is not None
        and variety.botanical
        and here.value.casefold() != variety.botanical.casefold()
    ):
        field = "passport.variety.botanical"
        raise Refused(
            "kind-named-otherwise", field, variety.botanical, kind=kind.slug, here=here.value
        )
    return kind


def _put_through(session: Session, lot_id: int, form: PassportArrival, received: date) -> None:
    """The lot's stays: the giver's, then on the way, then here."""
    passport = form.passport
    nowhere = _place(session, PlaceCreate(name=NOT_KNOWN_WHERE))
    stays = [(passport.first_seen_on, nowhere, False)]
    for stay in passport.stays:
        name = f"{passport.keeper or _SOMEBODY}: {stay.place.name}"[:_LONGEST_NAME]
        given = stay.place.model_dump() | {"name": name}
        place = _place(session, filled(PlaceCreate, given))
        stays.append((stay.from_date, place, stay.sealed_anew and stay.place.sealed))
    stays.append((passport.given_on, nowhere, False))
    if form.place_id is not None:
        stays.append((received, form.place_id, False))
    for day, place, anew in stays:  # a later one of the same day takes the earlier one's place
        move_lot(session, lot_id=lot_id, place_id=place, from_date=day, sealed_anew=anew)


def _place(session: Session, wanted: PlaceCreate) -> int:
    """A place of this name and these very conditions, made where there is none."""
    conditions, name = wanted.model_dump(exclude={"name", "notes"}), wanted.name
    taken = set()
    for place in places_called(session, name):
        taken.add(place.name)
        if place.model_dump(include=set(conditions)) == conditions:
            return row_id(place.id)
    free = next(
        one
        for one in (name, *(f"{name[: _LONGEST_NAME - 8]} ({n})" for n in range(2, 100_000)))
        if one not in taken
    )
    more = {"name": free, "notes": "Made from a lot passport."}
    return add_place(session, wanted.model_copy(update=more)).id


def _test(
    session: Session, lot: Lot, passport: Passport, test: PassportTest, at: str, now: datetime
) -> None:
    conditions = test.model_dump(exclude={"replicates", "finished_on"}) | {
        "lot": lot.code,
        "replicates": [one.seeds_set for one in test.replicates],
        "notes": f"Done by {passport.keeper or _SOMEBODY}, on their lot {passport.code}.",
    }
    form = filled(TestStart, conditions)
    own = new_test(form, lot, started_on=test.started_on, now=now)
    session.add(own)
    session.flush()
    with named_in(at):
        replicates = set_replicates(session, row_id(own.id), form.replicates)
        for replicate, one in zip(replicates, test.replicates, strict=True):
            for count in sorted(one.counts, key=lambda each: each.on_date):
                number = row_id(replicate.id)
                judged = SeedCounts(**count.model_dump(exclude={"on_date"}))
                record_count(session, replicate_id=number, on=count.on_date, judged=judged, now=now)
        finish(session, row_id(own.id), on=test.finished_on)


def _notes(passport: Passport) -> str:
    """What the passport tells that has no place of its own here."""
    lines = [
        f"Came with passport {passport.digest[:12]}: lot {passport.code} of "
        f"{passport.keeper or _SOMEBODY}, given {passport.given_on.isoformat()}."
    ]
    lines.append(f"There it was {passport.origin}" + (
        f", saved for {passport.generation} generations." if passport.generation else "."
    ))  # fmt: skip
    for one in passport.ancestors:
        year = f", {one.harvest_year}" if one.harvest_year else ""
        lines.append(f"Parent of {one.child}: {one.code} {one.variety} ({one.kind}{year}).")
    lines += [f"Take care: {caution.text}" for caution in passport.cautions]
    return "\n".join(lines)[:_LONGEST_NOTES]
