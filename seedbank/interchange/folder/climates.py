"""Taking in the climate of the garden and of its sites."""

from collections.abc import Iterable

from seedbank.climate.forms import ClimateStated
from seedbank.climate.state_climate import state_climate
from seedbank.climate.tables import all_climates
from seedbank.interchange.folder.files import Numbered
from seedbank.interchange.folder.names import Importer, key_of
from seedbank.interchange.folder.rows import ClimateRow
from seedbank.science.quantities import Finding


def take_climates(importer: Importer, rows: Iterable[Numbered[ClimateRow]]) -> int:
    """Tell the climate of each line; one that is told already is kept as it is."""
    known = {site for site, row in all_climates(importer.session).items() if not row.tells_nothing}
    seen: set[str] = set()
    added = 0
    for at in rows:
        key = "" if at.row.site is None else key_of(at.row.site)
        if key in seen:
            importer.complain(at, "site", Finding("folder-line-twice", {"choice": "climate"}))
            continue
        seen.add(key)
        site = None
        if at.row.site is not None:
            site = importer.named(at, "site", at.row.site, importer.sites)
            if site is None:
                continue
        form = importer.filled(at, ClimateStated, **at.row.filled_cells())
        if form is not None and site not in known:
            state_climate(importer.session, form, site_id=site, expected=None)
            added += 1
    return added
