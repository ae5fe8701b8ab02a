"""Taking in what flowers, and the record of seed crops with the lots they came from and gave."""

from collections.abc import Iterable

from sqlmodel import select

from seedbank.interchange.folder.files import Numbered
from seedbank.interchange.folder.names import Desk
from seedbank.interchange.folder.rows import FloweringRow, SeedCropRow
from seedbank.saving.edit_flowerings import new_flowering
from seedbank.saving.forms import FloweringCreate, SeedCropRecord
from seedbank.saving.grow_seed_crops import record_seed_crop
from seedbank.saving.tables import Flowering, SeedCrop


def take_flowering(desk: Desk, rows: Iterable[Numbered[FloweringRow]]) -> int:
    """Note what flowers; a line noted before is passed over."""
    had = {_key(one) for one in desk.session.exec(select(Flowering))}
    before = len(had)
    for at in rows:
        row, problems = at.row, len(desk.problems.found)
        kind = desk.kind_at(at, row.kind)
        site = desk.named(at, "site", row.site, desk.sites)
        variety = desk.variety_at(at, row.kind, row.variety) if kind and row.variety else None
        if kind is None or len(desk.problems.found) > problems:
            continue
        told = row.told() | {"site_id": site, "kind": kind.slug}
        told |= {"variety_id": variety.id} if variety else {}
        with desk.told_at(at):
            form = desk.filled(at, FloweringCreate, **told)
            if form is None:
                continue
            flowering = new_flowering(desk.session, form, today=desk.today)
            if _key(flowering) not in had:
                had.add(_key(flowering))
                desk.session.add(flowering)
    desk.session.flush()
    return len(had) - before


def _key(one: Flowering) -> tuple[object, ...]:
    return one.year, one.site_id, one.kind_id, one.variety_id, one.what, one.distance_m, one.notes


def take_seed_crops(desk: Desk, rows: Iterable[Numbered[SeedCropRow]]) -> int:
    """Add seed crops; one of the same variety, site, year and lots that is there is passed over."""
    had = {_crop_key(crop) for crop in desk.session.exec(select(SeedCrop))}
    before = len(had)
    for at in rows:
        form = _crop_at(desk, at)
        if form is not None and _crop_key(form) not in had:
            with desk.told_at(at):
                record_seed_crop(desk.session, form, today=desk.today, now=desk.now)
                had.add(_crop_key(form))
    desk.session.flush()
    return len(had) - before


def _crop_key(crop: SeedCrop | SeedCropRecord) -> tuple[object, ...]:
    return crop.variety_id, crop.site_id, crop.flower_year, crop.lot_id, crop.result_lot_id


def _crop_at(desk: Desk, at: Numbered[SeedCropRow]) -> SeedCropRecord | None:
    """The seed crop a line tells of, if all it names is there."""
    row, before = at.row, len(desk.problems.found)
    variety = desk.variety_at(at, row.kind, row.variety)
    site = desk.named(at, "site", row.site, desk.sites)
    told = row.told() | {"variety_id": variety and variety.id, "site_id": site}
    if row.lot is not None:
        lot = desk.lot_at(at, row.lot)
        told["lot_id"] = lot and lot.id
    if row.result_lot is not None:
        result = desk.lot_at(at, row.result_lot, "result_lot")
        told["result_lot_id"] = result and result.id
    if row.sowing is not None:
        sowing = desk.named(at, "sowing", row.sowing, desk.sowings)
        told["sowing_id"] = sowing and sowing.id
    if row.gear is not None:
        told["gear_id"] = desk.named(at, "gear", row.gear, desk.gear)
    if len(desk.problems.found) > before:
        return None
    return desk.filled(at, SeedCropRecord, **told)
