"""What changes with anything that a verdict rests on."""

from seedbank.climate.tables import GardenClimate
from seedbank.database.change_counters import topics_of
from seedbank.database.references import begun_topics
from seedbank.kinds.tables import Variety
from seedbank.viability.tables.change_topics import JUDGED


def judged_by() -> tuple[str, ...]:
    """The counters of everything a verdict rests on."""
    return (*JUDGED, *topics_of(GardenClimate), *begun_topics(Variety))
