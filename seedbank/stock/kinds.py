"""Crop kinds, and the gardener's own values that override packaged reference facts."""

from enum import StrEnum

from sqlalchemy import UniqueConstraint
from sqlmodel import Field, SQLModel

from seedbank.stock.base import Editable


class FactName(StrEnum):
    """Facts about a kind that a gardener may state for themself, each with a source.

    Values are stored as text and parsed by ``facts``: numbers in the unit the name carries,
    ``life_cycle`` annual | biennial | perennial, ``mating`` selfing | mixed | outcrossing,
    ``storage_class`` orthodox | recalcitrant | unlisted, ``poisonous`` yes | no.
    """

    BOTANICAL = "botanical"
    CROSSING_GROUP = "crossing_group"
    LIFE_CYCLE = "life_cycle"
    MATING = "mating"
    STORAGE_CLASS = "storage_class"
    POISONOUS = "poisonous"
    MINIMUM_GERMINATION_PCT = "minimum_germination_pct"
    FIRST_COUNT_DAYS = "first_count_days"
    FINAL_COUNT_DAYS = "final_count_days"
    TEST_TEMPERATURE_C = "test_temperature_c"
    HALF_VIABILITY_YEARS = "half_viability_years"
    THOUSAND_SEED_WEIGHT_G = "thousand_seed_weight_g"
    SEEDLINGS_PER_UNIT = "seedlings_per_unit"
    DEPTH_CM = "depth_cm"
    IN_ROW_CM = "in_row_cm"
    ROW_CM = "row_cm"
    SOIL_MIN_C = "soil_min_c"
    SOIL_OPT_C = "soil_opt_c"
    ISOLATION_HOME_M = "isolation_home_m"
    ISOLATION_STRICT_M = "isolation_strict_m"
    SEED_PARENTS_MAINTAIN = "seed_parents_maintain"
    SEED_PARENTS_RARE = "seed_parents_rare"


class Kind(Editable, table=True):
    """A crop kind. ``slug`` joins a packaged kind to its facts; a gardener's own has only its own.

    ``packaged`` kinds are put in at start-up and can't be deleted.
    """

    __tablename__ = "kind"

    id: int | None = Field(default=None, primary_key=True)
    slug: str = Field(max_length=80, unique=True)
    name: str = Field(max_length=120, index=True)
    packaged: bool = Field(default=False)


class KindFact(SQLModel, table=True):
    """One fact about a kind as the gardener states it, overriding the packaged value."""

    __tablename__ = "kind_fact"
    __table_args__ = (UniqueConstraint("kind_id", "name"),)

    id: int | None = Field(default=None, primary_key=True)
    kind_id: int = Field(foreign_key="kind.id")
    name: str = Field(max_length=40)
    value: str = Field(max_length=200)
    source: str = Field(max_length=400)
