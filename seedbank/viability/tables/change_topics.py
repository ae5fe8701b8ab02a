"""What changes with anything that says how alive lots are, or what to do with them."""

from seedbank.database.change_counters import blanks_of, topics_of
from seedbank.emergence.tables import Emergence, Loss, Sowing
from seedbank.germination.tables import GerminationTest
from seedbank.kinds.tables import Kind, KindFact, Variety
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.mixtures import MixturePart
from seedbank.lots.tables.places import Place, Stay

ALIVE = topics_of(
    Lot, Variety, Kind, KindFact, Place, Stay, GerminationTest, Sowing, Emergence, Loss, MixturePart
)
"""What says how alive a lot is: tests, stores, ages, kinds, what came up of it."""
JUDGED = (*ALIVE, blanks_of(GerminationTest), *topics_of(Movement))
"""What a lot's verdict rests on: the amounts, and tests begun."""
