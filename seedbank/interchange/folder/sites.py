"""Taking in where seed crops stand, how far apart that is, and what isolates them."""

from collections.abc import Iterable

from seedbank.common.faults import StockFault
from seedbank.interchange.folder.files import Numbered
from seedbank.interchange.folder.name_lookup import Desk, key_of
from seedbank.interchange.folder.rows import GearRow, SiteRow
from seedbank.saving.tables.isolation_gear import IsolationGear
from seedbank.saving.tables.sites import Site, set_distance


def take_sites(desk: Desk, rows: list[Numbered[SiteRow]]) -> int:
    """Add sites, then their distances; a site of the same name that is there is kept as it is."""
    seen: set[str] = set()
    added = 0
    for at in rows:
        key, row = key_of(at.row.site), at.row
        if key in seen:
            desk.complain(at, "site", "keep one line for each site")
        elif key not in desk.sites:
            site = Site(name=row.site, seed_bed_m2=row.seed_bed_m2, notes=row.notes)
            desk.sites[key] = site
            desk.session.add(site)
            added += 1
        seen.add(key)
    desk.session.flush()
    said: dict[frozenset[int | None], float] = {}
    for at in rows:
        for name, metres in zip(at.row.other_sites, at.row.metres, strict=True):
            _set_distance(desk, at, name, metres, said)
    return added


def _set_distance(
    desk: Desk,
    at: Numbered[SiteRow],
    name: str,
    metres: float,
    said: dict[frozenset[int | None], float],
) -> None:
    site, other = desk.sites[key_of(at.row.site)], desk.site_at(at, name, column="other_sites")
    if other is None:
        return
    pair = frozenset({site.id, other.id})
    if said.setdefault(pair, metres) != metres:
        desk.complain(at, "metres", f"another line says {said[pair]:g} m; write one distance")
        return
    try:
        set_distance(desk.session, site.id or 0, other.id or 0, metres)
    except StockFault as fault:
        desk.complain_of(at, "other_sites", fault)


def take_gear(desk: Desk, rows: Iterable[Numbered[GearRow]]) -> int:
    """Add isolation gear; some of the same name that is there already is kept as it is."""
    seen: set[str] = set()
    added = 0
    for at in rows:
        key, row = key_of(at.row.gear), at.row
        if key in seen:
            desk.complain(at, "gear", "keep one line for each")
        elif key not in desk.gear:
            gear = IsolationGear(
                name=row.gear,
                gear=row.sort,
                **row.model_dump(include={"pieces", "covers_m2", "notes"}),
            )
            desk.gear[key] = gear
            desk.session.add(gear)
            added += 1
        seen.add(key)
    desk.session.flush()
    return added
