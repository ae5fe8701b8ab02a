"""Taking in what flowers, and the record of seed crops with the lots they came from and gave."""

from collections.abc import Iterable

from sqlmodel import select

from seedbank.interchange.folder.files import Numbered
from seedbank.interchange.folder.names import Importer
from seedbank.interchange.folder.rows import FloweringRow, SeedCropRow
from seedbank.saving.edit_flowerings import new_flowering
from seedbank.saving.forms import FloweringCreate, SeedCropRecord
from seedbank.saving.grow_seed_crops import record_seed_crop
from seedbank.saving.tables import Flowering, SeedCrop


def take_flowering(importer: Importer, rows: Iterable[Numbered[FloweringRow]]) -> int:
    """Note what flowers; a line noted before is passed over."""
    had = {_key(one) for one in importer.session.exec(select(Flowering))}
    before = len(had)
    for at in rows:
        row, problems = at.row, len(importer.problems.found)
        kind = importer.kind_at(at, row.kind)
        site = importer.named(at, "site", row.site, importer.sites)
        variety = importer.variety_at(at, row.kind, row.variety) if kind and row.variety else None
        if kind is None or len(importer.problems.found) > problems:
            continue
        given = row.filled_cells() | {"site_id": site, "kind": kind.slug}
        given |= {"variety_id": variety.id} if variety else {}
        with importer.noting_refusals(at):
            form = importer.filled(at, FloweringCreate, **given)
            if form is None:
                continue
            flowering = new_flowering(importer.session, form, today=importer.today)
            if _key(flowering) not in had:
                had.add(_key(flowering))
                importer.session.add(flowering)
    importer.session.flush()
    return len(had) - before


def _key(one: Flowering) -> tuple[object, ...]:
    return one.year, one.site_id, one.kind_id, one.variety_id, one.what, one.distance_m, one.notes


def take_seed_crops(importer: Importer, rows: Iterable[Numbered[SeedCropRow]]) -> int:
    """Add seed crops; one of the same variety, site, year and lots that is there is passed over."""
    had = {_crop_key(crop) for crop in importer.session.exec(select(SeedCrop))}
    before = len(had)
    for at in rows:
        form = _crop_at(importer, at)
        if form is not None and _crop_key(form) not in had:
            with importer.noting_refusals(at):
                record_seed_crop(importer.session, form, today=importer.today, now=importer.now)
                had.add(_crop_key(form))
    importer.session.flush()
    return len(had) - before


def _crop_key(crop: SeedCrop | SeedCropRecord) -> tuple[object, ...]:
    return crop.variety_id, crop.site_id, crop.flower_year, crop.lot_id, crop.result_lot_id


def _crop_at(importer: Importer, at: Numbered[SeedCropRow]) -> SeedCropRecord | None:
    """The seed crop a line tells of, if all it names is there."""
    row, before = at.row, len(importer.problems.found)
    variety = importer.variety_at(at, row.kind, row.variety)
    site = importer.named(at, "site", row.site, importer.sites)
    given = row.filled_cells() | {"variety_id": variety and variety.id, "site_id": site}
    if row.lot is not None:
        lot = importer.lot_at(at, row.lot)
        given["lot_id"] = lot and lot.id
    if row.result_lot is not None:
        result = importer.lot_at(at, row.result_lot, "result_lot")
        given["result_lot_id"] = result and result.id
    if row.sowing is not None:
        sowing = importer.named(at, "sowing", row.sowing, importer.sowings)
        given["sowing_id"] = sowing and sowing.id
    if row.gear is not None:
        given["gear_id"] = importer.named(at, "gear", row.gear, importer.gear)
    if len(importer.problems.found) > before:
        return None
    return importer.filled(at, SeedCropRecord, **given)
