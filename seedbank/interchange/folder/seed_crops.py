"""Taking in what flowers, and the record of seed crops with the lots they came from and gave."""

from collections.abc import Iterable

from pydantic import ConfigDict
from sqlmodel import select

from seedbank.common.errors import Refused
from seedbank.interchange.folder.files import Numbered
from seedbank.interchange.folder.names import Desk, key_of
from seedbank.interchange.folder.rows import CsvRow, FloweringRow, SeedCropRow
from seedbank.kinds.tables import Variety
from seedbank.lots.tables.lots import Lot
from seedbank.saving.edit_flowerings import new_flowering
from seedbank.saving.forms import FloweringCreate, SeedCropChange
from seedbank.saving.grow_seed_crops import check_harvest_day, check_seed_crop_makes_sense
from seedbank.saving.tables import Flowering, SeedCrop
from seedbank.sowing.tables import Sowing


class _Growing(SeedCropChange):
    """What a line tells of a crop that may be over; what else it tells has no form."""

    model_config = ConfigDict(extra="ignore")


def take_flowering(desk: Desk, rows: Iterable[Numbered[FloweringRow]]) -> int:
    """Note what flowers; a line noted before is passed over."""
    had = {_key(one) for one in desk.session.exec(select(Flowering))}
    added = 0
    for at in rows:
        kind, site = desk.kind_at(at, at.row.kind), desk.site_at(at, at.row.site)
        if kind is None or site is None:
            continue
        more: dict[str, int] = {}
        if at.row.variety is not None:
            variety = desk.variety_at(at, kind, at.row.variety)
            if variety is None:
                continue
            more["variety_id"] = variety.id or 0
        form = desk.filled(at, FloweringCreate, site_id=site, kind=kind.slug, **more)
        if form is None:
            continue
        try:
            flowering = new_flowering(desk.session, form, today=desk.today)
        except Refused as refusal:
            desk.complain_of(at, refusal.field, refusal)
            continue
        if _key(flowering) not in had:
            had.add(_key(flowering))
            desk.session.add(flowering)
            added += 1
    desk.session.flush()
    return added


def _key(one: Flowering) -> tuple[object, ...]:
    return one.year, one.site_id, one.kind_id, one.variety_id, one.what, one.distance_m, one.notes


def take_seed_crops(desk: Desk, rows: Iterable[Numbered[SeedCropRow]]) -> int:
    """Add seed crops; one of the same variety, site, year and lots that is there is passed over."""
    had = {_crop_key(crop) for crop in desk.session.exec(select(SeedCrop))}
    added = 0
    for at in rows:
        crop = _crop_at(desk, at)
        if crop is None or _crop_key(crop) in had:
            continue
        if crop.result_lot_id is not None and crop.harvested_on is None:
            desk.complain(at, "harvested_on", "write the day the lot was harvested")
            continue
        try:
            check_seed_crop_makes_sense(desk.session, crop)
            if crop.harvested_on is not None:
                check_harvest_day(crop, crop.harvested_on)
        except Refused as refusal:
            desk.complain_of(at, _column(refusal.field), refusal)
            continue
        had.add(_crop_key(crop))
        desk.session.add(crop)
        added += 1
    desk.session.flush()
    return added


def _crop_key(crop: SeedCrop) -> tuple[object, ...]:
    return crop.variety_id, crop.site_id, crop.flower_year, crop.lot_id, crop.result_lot_id


def _column(field: str) -> str:
    return "gear" if field == "gear_id" else field


def _crop_at(desk: Desk, at: Numbered[SeedCropRow]) -> SeedCrop | None:
    """The seed crop a line tells of, if all it names is there and belongs together."""
    row, before = at.row, len(desk.problems.found)
    kind, site = desk.kind_at(at, row.kind), desk.site_at(at, row.site)
    variety = None if kind is None else desk.variety_at(at, kind, row.variety)
    lot = _lot_at(desk, at, row.lot, "lot", variety)
    result = _lot_at(desk, at, row.result_lot, "result_lot", variety)
    sowing = _sowing_at(desk, at, lot)
    gear = None if row.gear is None else desk.gear.get(key_of(row.gear))
    if row.gear is not None and gear is None:
        desk.complain(at, "gear", "add it to gear.csv")
    if row.harvested_on is not None and row.failed_on is not None:
        desk.complain(at, "failed_on", "a crop was harvested or lost; leave one of the days out")
    if row.failed_on is not None and not row.why_failed:
        desk.complain(at, "why_failed", "say what happened")
    desk.filled(at, _Growing)
    if len(desk.problems.found) > before or variety is None or site is None:
        return None
    return SeedCrop(
        **row.model_dump(exclude=set(row.names)),
        variety_id=variety.id or 0,
        site_id=site,
        lot_id=None if lot is None else lot.id,
        result_lot_id=None if result is None else result.id,
        sowing_id=None if sowing is None else sowing.id,
        gear_id=gear,
        created_at=desk.now,
    )


def _lot_at(
    desk: Desk, at: Numbered[CsvRow], name: str | None, column: str, variety: Variety | None
) -> Lot | None:
    if name is None:
        return None
    lot = desk.lot_at(at, name, column=column)
    if lot is not None and variety is not None and lot.variety_id != variety.id:
        desk.complain(at, column, f"name a lot of {variety.name}")
    return lot


def _sowing_at(desk: Desk, at: Numbered[SeedCropRow], lot: Lot | None) -> Sowing | None:
    name = at.row.sowing
    if name is None:
        return None
    sowing = desk.sowings.get(key_of(name))
    if key_of(name) not in desk.sowings:
        desk.complain(at, "sowing", "name a sowing that is in sowings.csv")
    elif sowing is not None and lot is not None and sowing.lot_id != lot.id:
        desk.complain(at, "sowing", "name a sowing of the lot sown")
    return sowing
