"""Pages by what a gardener comes for; each module has a ``router``."""

from seedbank.access.pages import enter, trail
from seedbank.germination.pages import one_test
from seedbank.germination.pages import tests as germination_tests
from seedbank.interchange.spreadsheet.pages import spreadsheet
from seedbank.kinds.pages import variety
from seedbank.labels.pages import labels
from seedbank.lots.pages import (
    changes,
    entered,
    find,
    lot,
    lot_change,
    lot_places,
    lot_stock,
    take_in,
)
from seedbank.plan.pages import plan, supply
from seedbank.saving.pages import crop, flowering
from seedbank.season.pages import dates, lists, now, season
from seedbank.sowing.pages import forecast_record as record
from seedbank.sowing.pages import pictures as figures
from seedbank.sowing.pages import sow_advice
from seedbank.sowing.pages import sowings as one_sowing
from seedbank.web.pages import more, own_settings

ROUTERS = (
    changes.router,
    crop.router,
    dates.router,
    enter.router,
    entered.router,
    figures.router,
    find.router,
    flowering.router,
    germination_tests.router,
    labels.router,
    lists.router,
    lot.router,
    lot_change.router,
    lot_places.router,
    lot_stock.router,
    more.router,
    now.router,
    one_sowing.router,
    one_test.router,
    own_settings.router,
    plan.router,
    record.router,
    season.router,
    sow_advice.router,
    spreadsheet.router,
    supply.router,
    take_in.router,
    trail.router,
    variety.router,
)
