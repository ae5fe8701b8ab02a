"""Seed crops begun, sown, looked after, lost, taken out again, or harvested into a new lot.

Seed harvested sooner than it can well have ripened is doubted.
"""

from collections.abc import Collection, Iterable
from datetime import date, datetime, timedelta

from sqlmodel import Session

from seedbank.climate.garden_year import flowering_at, garden_years
from seedbank.common.answers import FindingAnswer
from seedbank.common.catalogue import text_of
from seedbank.common.dates import happened, in_order, not_to_come
from seedbank.common.errors import Conflict, Doubt, Refused, StockFault, ask
from seedbank.database.find import named_in, row_id
from seedbank.database.transaction import claim_version, put_changes, touch, transaction
from seedbank.emergence.tables import get_sowing
from seedbank.facts.growing import SEED_TO_SEED_DAYS
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import Fact
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Kind, Variety, get_variety
from seedbank.lots.days import after_harvest
from seedbank.lots.forms import FirstAmount, LotCreate
from seedbank.lots.tables.lots import Isolation, Lot, Origin, Purity, find_lot, get_lot, lot_named
from seedbank.lots.tables.mixtures import parts_of
from seedbank.lots.take_in_lots import take_in_lot
from seedbank.saving.answers import HarvestAnswer, SeedCropAnswer
from seedbank.saving.check_crossing import asked_of, crossing_of, purity_of
from seedbank.saving.edit_flowerings import in_year
from seedbank.saving.edit_sites import site_named
from seedbank.saving.forms import (
    SeedCropChange,
    SeedCropCreate,
    SeedCropFail,
    SeedCropHarvest,
    SeedCropRecord,
    SeedCropSow,
)
from seedbank.saving.gather_flowering import Year, read_year
from seedbank.saving.show_seed_crops import answer_seed_crop
from seedbank.saving.tables import GearKind, SeedCrop, find_seed_crop, get_gear
from seedbank.science.crossing.flowering_days import WHOLE_YEAR, DayWindow
from seedbank.science.quantities import Finding
from seedbank.science.season.window_state import day_number
from seedbank.sowing.forms import SowingCreate
from seedbank.sowing.record_sowing import record_sowing


def ripe_too_soon(
    facts: KindFacts, crop: SeedCrop, flowers: Fact[DayWindow] | None, day: date
) -> Iterable[Doubt]:
    """A harvest before the seed can well have ripened, each reason for itself."""
    field, value = "harvested_on", day.isoformat()
    sown = crop.sown_on
    if sown is not None and (day - sown).days < SEED_TO_SEED_DAYS.value:
        yield Doubt(
            "seed-too-soon-after-sowing",
            field,
            value,
            days=(day - sown).days,
            fastest_days=SEED_TO_SEED_DAYS.value,
            source=str(SEED_TO_SEED_DAYS.source),
        )
    if sown is not None and facts.flowers_next_year and day.year == sown.year:
        yield Doubt("flowers-year-after", field, value, kind=facts.name, year=sown.year)
    if crop.flower_from is None and flowers is not None and flowers.value != WHOLE_YEAR:
        opens = date(crop.flower_year, 1, 1) + timedelta(days=flowers.value.from_day - 1)
        if day < opens:
            yield Doubt(
                "seed-before-flower",
                field,
                value,
                kind=facts.name,
                opens=flowers.value.from_day,
                source=str(flowers.source),
            )


_SERVES = {
    GearKind.CAGE: frozenset({Isolation.CAGE}),
    GearKind.NET: frozenset({Isolation.CAGE, Isolation.BAG, Isolation.HAND_POLLINATION}),
    GearKind.BAG: frozenset({Isolation.BAG, Isolation.HAND_POLLINATION}),
}
_AFTERWARDS = frozenset({"cleaning", "drying", "notes"})


def start_seed_crop(
    session: Session, form: SeedCropCreate, *, today: date, now: datetime
) -> SeedCropAnswer:
    """Begin the record of a seed crop; where seeds are said to be sown they leave the lot.

    Raises Refused: no such variety, site or gear, a lot of another variety, gear that doesn't
    serve the isolation, or days out of order. MisreadCode, NotEnoughSeed.
    """
    with transaction(session):
        site_named(session, form.site_id)
        crop = SeedCrop(
            **form.model_dump(exclude={"lot", "sow", "variety_id", "flower_year"}),
            variety_id=_variety_id(session, form),
            flower_year=today.year,
            planned_on=today,
            created_at=now,
        )
        _set_lot(session, crop, form.lot)
        begun = form.sow_on or (form.sow and form.sow.sown_on) or today
        crop.flower_year = form.flower_year or begun.year + _lead(session, crop, begun)
        check_seed_crop_makes_sense(session, crop)
        session.add(crop)
        session.flush()
        warnings: list[FindingAnswer] = []
        if form.sow is not None:
            try:
                warnings = _sow(session, crop, form.sow, today=today, now=now)
            except StockFault as fault:
                fault.field = f"sow.{fault.field}"
                raise
        return answer_seed_crop(session, crop, warnings=warnings)


def sow_seed_crop(
    session: Session, number: int, form: SeedCropSow, *, today: date, now: datetime
) -> SeedCropAnswer:
    """Sow a seed crop. Where seeds are given they leave the lot, as with any sowing.

    Raises NotThere, Conflict: it is sown, harvested or lost already. Refused: no lot is named, or
    one of another variety, or a day still to come. MisreadCode, NotEnoughSeed.
    """
    with transaction(session):
        crop = open_crop(session, number)
        touch(session, crop)
        if crop.sown_on is not None:
            raise Conflict(
                "seed-crop-sown-already", "sown_on", crop.sown_on.isoformat(), sown_on=crop.sown_on
            )
        warnings = _sow(session, crop, form, today=today, now=now)
        return answer_seed_crop(session, crop, warnings=warnings)


def change_seed_crop(
    session: Session, number: int, form: SeedCropChange, *, expected: Collection[int] | None
) -> SeedCropAnswer:
    """Change what the form names; of a crop that is over, only its notes.

    Raises NotThere, StaleVersion, Conflict: it is over. Refused: as starting, or more parents
    rogued and kept than started.
    """
    with transaction(session):
        crop = find_seed_crop(session, number)
        claim_version(session, crop, what="seed crop", expected=expected)
        late = form.model_fields_set - _AFTERWARDS
        if late and not crop.is_open:
            raise _over(crop, field=min(late))
        if "site_id" in form.model_fields_set:
            site_named(session, form.site_id)
        if "lot" in form.model_fields_set:
            _set_lot(session, crop, form.lot)
        put_changes(crop, form, leave_out={"lot"})
        check_seed_crop_makes_sense(session, crop)
        session.add(crop)
        session.flush()
        return answer_seed_crop(session, crop)


def fail_seed_crop(
    session: Session, number: int, form: SeedCropFail, *, today: date
) -> SeedCropAnswer:
    """Say that a seed crop gave no seed, and why.

    Raises NotThere, Conflict: it is over. Refused: a day still to come, or before it was sown.
    """
    with transaction(session):
        crop = open_crop(session, number)
        touch(session, crop)
        day = happened(form.failed_on, field="failed_on", today=today)
        in_order(crop.sown_on, day, "before-sowing", field="failed_on")
        crop.failed_on, crop.why_failed = day, form.why
        session.add(crop)
        session.flush()
        return answer_seed_crop(session, crop)


def delete_seed_crop(session: Session, number: int, *, expected: Collection[int] | None) -> None:
    """Take out a seed crop recorded by mistake; its sowing stays.

    Raises NotThere, StaleVersion, Conflict: a lot was harvested from it.
    """
    with transaction(session):
        crop = find_seed_crop(session, number)
        claim_version(session, crop, what="seed crop", expected=expected)
        if crop.result_lot_id is not None:
            raise Conflict("seed-crop-harvested", "id", number)
        session.delete(crop)
        session.flush()


def open_crop(session: Session, number: int) -> SeedCrop:
    """The seed crop with this number, still open. Raises NotThere, Conflict: it is over."""
    crop = find_seed_crop(session, number)
    if not crop.is_open:
        raise _over(crop, field="id")
    return crop


def check_parents(crop: SeedCrop) -> None:
    """Raises Refused: more plants rogued and kept than were started."""
    rogued, kept = crop.parents_rogued or 0, crop.parents_kept or 0
    started = crop.parents_started
    if started is not None and rogued + kept > started:
        raise Refused(
            "more-parents-than-started",
            "parents_kept",
            kept,
            rogued=rogued,
            kept=kept,
            started=started,
            max=max(started - rogued, 0),
        )


def kind_of(session: Session, crop: SeedCrop) -> Kind:
    """The kind a seed crop is of."""
    return session.get_one(Kind, session.get_one(Variety, crop.variety_id).kind_id)


def _over(crop: SeedCrop, *, field: str) -> Conflict:
    day = crop.harvested_on or crop.failed_on
    assert day is not None
    end = "harvested" if crop.harvested_on else "failed"
    return Conflict("seed-crop-over", field, day.isoformat(), end=end, on=day)


def _variety_id(session: Session, form: SeedCropCreate) -> int:
    if form.variety_id is not None:
        with named_in("variety_id"):
            return row_id(get_variety(session, form.variety_id).id)
    assert form.lot is not None  # the form names one or the other
    return lot_named(session, form.lot, field="lot").variety_id


def _set_lot(session: Session, crop: SeedCrop, code: str | None) -> None:
    if code is None:
        crop.lot_id = None
        return
    lot = lot_named(session, code, field="lot")
    if lot.variety_id != crop.variety_id:
        raise Refused("lot-of-another-variety", "lot", lot.code)
    if parts_of(session, [row_id(lot.id)]):
        raise Refused("mixture-not-true", "lot", lot.code)
    crop.lot_id = row_id(lot.id)


def _lead(session: Session, crop: SeedCrop, begun: date) -> int:
    """Years from sowing to flowers: one too for what is sown after its kind has flowered."""
    facts = facts_for(session, kind_of(session, crop))
    flowers = flowering_at(facts, garden_years(session).at(crop.site_id))
    over = (
        flowers is not None and day_number(begun) > flowers.value.to_day >= flowers.value.from_day
    )
    return int(facts.flowers_next_year or over)


def check_seed_crop_makes_sense(session: Session, crop: SeedCrop) -> None:
    """Raises Refused: numbers, days or gear that don't fit each other."""
    check_parents(crop)
    begun = crop.sown_on or crop.sow_on
    if begun is not None and begun.year > crop.flower_year:
        raise Refused("flowers-before-sowing", "flower_year", crop.flower_year, year=begun.year)
    in_order(crop.flower_from, crop.flower_to, "last-flower-first", field="flower_to")
    in_year(crop.flower_from, crop.flower_year, field="flower_from")
    in_year(crop.flower_to, crop.flower_year, field="flower_to")
    if crop.gear_id is None:
        return
    # Looked for before the crop is written, or the database would refuse it first.
    with named_in("gear_id"), session.no_autoflush:
        gear = get_gear(session, crop.gear_id)
    if crop.isolation not in _SERVES[gear.gear]:
        raise Refused(
            "gear-of-other-isolation",
            "gear_id",
            crop.gear_id,
            gear=gear.name,
            way=crop.isolation.value,
            serves=tuple(
                Finding("isolation-way", {"way": way.value}) for way in sorted(_SERVES[gear.gear])
            ),
        )


def _sow(
    session: Session, crop: SeedCrop, form: SeedCropSow, *, today: date, now: datetime
) -> list[FindingAnswer]:
    """Put the sowing on record; returns what to warn of."""
    if form.lot is not None:
        _set_lot(session, crop, form.lot)
    crop.sown_on = happened(form.sown_on, field="sown_on", today=today)
    if crop.lot_id is not None:
        after_harvest(get_lot(session, crop.lot_id), crop.sown_on, field="sown_on")
    check_seed_crop_makes_sense(session, crop)
    warnings: list[FindingAnswer] = []
    if form.seeds_sown is not None:
        if crop.lot_id is None:
            raise Refused("no-lot-named", "lot", None)
        lot = get_lot(session, crop.lot_id)
        shared = form.model_dump(include={"seeds_sown", "method", "protection", "soil_temp_c"})
        sowing = record_sowing(
            session,
            SowingCreate(
                **shared,
                lot=lot.code,
                sown_on=crop.sown_on,
                plants_wanted=crop.parents_started,
                confirmed=form.confirmed,
                notes=form.notes,
            ),
            today=today,
            now=now,
        )
        crop.sowing_id, warnings = sowing.id, sowing.warnings
    session.add(crop)
    session.flush()
    return warnings


_LONGEST_NOTE = 400


def harvest_seed_crop(
    session: Session, number: int, form: SeedCropHarvest, *, today: date, now: datetime
) -> HarvestAnswer:
    """Harvest a seed crop: its seed becomes a lot of the parent lot's next generation.

    The lot's purity is what the crossing check says on the day of harvest. Raises NotThere,
    Conflict: it is over, or not sown yet. Refused: no parents kept, more than started, a day still
    to come or before it was sown or in flower, no such place, or grams of seed whose weight nobody
    knows. Doubted: before its seed can well be ripe.
    """
    with transaction(session):
        crop = open_crop(session, number)
        touch(session, crop)
        day = happened(form.harvested_on, field="harvested_on", today=today)
        if crop.sown_on is None:
            raise Conflict("seed-crop-not-sown", "sown_on")
        if form.parents_kept is not None:
            crop.parents_kept = form.parents_kept
        _check_harvest(crop, day)
        crop.cleaning, crop.drying = form.cleaning or crop.cleaning, form.drying or crop.drying
        parent = None if crop.lot_id is None else get_lot(session, crop.lot_id)
        flowering = read_year(session, crop.flower_year, [crop.variety_id])
        purity, note = _purity(flowering, crop, parent)
        lot = take_in_lot(
            session,
            LotCreate(
                variety_id=crop.variety_id,
                amount=FirstAmount.model_validate(form.amount.model_dump()),
                origin=Origin.SELF_SAVED,
                harvest_date=day,
                acquired_on=day,
                generation=_generation(parent),
                seed_parents=crop.parents_kept,
                isolation=crop.isolation,
                purity=purity,
                purity_note=note,
                thousand_seed_weight_g=form.thousand_seed_weight_g,
                thousand_seed_weight_se_g=form.thousand_seed_weight_se_g,
                parents=[] if parent is None else [parent.code],
                place_id=form.place_id,
                notes=form.notes,
            ),
            today=today,
            now=now,
        )
        crop.harvested_on, crop.result_lot_id = day, row_id(find_lot(session, lot.code).id)
        session.add(crop)
        session.flush()
        ask(_doubts(flowering, crop, day), confirmed=form.confirmed)
        return HarvestAnswer(seed_crop=answer_seed_crop(session, crop), lot=lot)


def record_seed_crop(
    session: Session, form: SeedCropRecord, *, today: date, now: datetime
) -> SeedCrop:
    """Enter a seed crop that stands or is over, told whole; its seed is booked elsewhere.

    Raises Refused: what doesn't fit together, as at any step of growing it.
    """
    with transaction(session):
        given = form.model_dump() | {"why_failed": form.why_failed or ""}
        crop = SeedCrop(**given, created_at=now)
        for field in ("planned_on", "sown_on", "harvested_on", "failed_on"):
            not_to_come(getattr(crop, field), field=field, today=today)
        for field in ("lot_id", "result_lot_id"):
            number = getattr(crop, field)
            with named_in(field):
                lot = None if number is None else get_lot(session, number)
            if lot is not None and lot.variety_id != crop.variety_id:
                raise Refused("lot-of-another-variety", field, lot.code)
            if lot is not None and field == "lot_id" and crop.sown_on is not None:
                after_harvest(lot, crop.sown_on, field="sown_on")
        if crop.sowing_id is not None:
            with named_in("sowing_id"):
                sowing = get_sowing(session, crop.sowing_id)
            if crop.lot_id not in (None, sowing.lot_id):
                raise Refused("sowing-of-another-lot", "sowing_id", sowing.id)
        check_seed_crop_makes_sense(session, crop)
        _check_end(crop)
        session.add(crop)
        return crop


def _check_end(crop: SeedCrop) -> None:
    """Raises Refused: its end isn't as a harvest or a failure can be."""
    if crop.harvested_on is not None:
        _check_harvest(crop, crop.harvested_on)
        if crop.failed_on is not None:
            raise Refused("harvested-and-failed", "failed_on", crop.failed_on.isoformat())
    elif crop.result_lot_id is not None:
        raise Refused("harvest-day-missing", "harvested_on", None)
    elif crop.failed_on is not None:
        in_order(crop.sown_on, crop.failed_on, "before-sowing", field="failed_on")
        if not crop.why_failed:
            raise Refused("why-failed-missing", "why_failed", "")


def _check_harvest(crop: SeedCrop, day: date) -> None:
    """Raises Refused: it gave no seed, or none that day."""
    check_harvest_day(crop, day)
    if crop.parents_kept == 0:
        raise Refused("no-parents-kept", "parents_kept", 0)
    check_parents(crop)


def check_harvest_day(crop: SeedCrop, day: date) -> None:
    """Raises Refused: before the crop was sown, or before it flowered as is on record."""
    in_order(crop.sown_on, day, "before-sowing", field="harvested_on")
    in_order(crop.flower_from, day, "harvest-before-flower", field="harvested_on")
    opens = date(crop.flower_year - 1, 7, 1)
    in_order(opens, day, "harvest-before-its-year", field="harvested_on")


def _doubts(flowering: Year, crop: SeedCrop, day: date) -> Iterable[Doubt]:
    kind_id = flowering.varieties[crop.variety_id].kind_id
    flowers = flowering.window(kind_id, crop.site_id)
    return ripe_too_soon(flowering.facts[kind_id], crop, flowers, day)


def _generation(parent: Lot | None) -> int | None:
    """One more than the parent's; seed from elsewhere whose count nobody knows starts at 0."""
    if parent is None:
        return None
    if parent.generation is None:
        return None if parent.origin is Origin.SELF_SAVED else 1
    return parent.generation + 1


def _purity(flowering: Year, crop: SeedCrop, parent: Lot | None) -> tuple[Purity, str]:
    """As the crossing check says; what may have crossed once doesn't come true by isolation."""
    asked = asked_of(crop)
    purity, found = purity_of(crossing_of(flowering, asked), asked)
    if parent is not None and parent.purity is Purity.RISK:
        found = Finding("crossing-inherited", {"parent": parent.code, "note": found})
        purity = Purity.RISK
    note = text_of(found)
    return purity, note if len(note) <= _LONGEST_NOTE else note[: _LONGEST_NOTE - 1] + "…"
