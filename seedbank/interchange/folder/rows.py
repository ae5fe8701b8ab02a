"""The collection files: which there are, their columns, and what each cell may hold.

A column with a default may be left out of a file, or left empty in a line. Lists within a cell
(parents, replicate sizes) are separated by semicolons. Lots are named by the label written in
lots.csv or by a lot code; tests and sowings by any name that occurs once in their file.
"""

from datetime import date
from typing import Annotated, Any, ClassVar, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from seedbank.common.forms import MOST, Day, Line, Name, Notes, Remark
from seedbank.germination.tables import Pretreatment, Substratum
from seedbank.kinds.tables import Breeding, FactName, OtherKeepers
from seedbank.lots.tables.ledger import MovementReason
from seedbank.lots.tables.lots import Isolation, Origin, Purity
from seedbank.saving.tables import GearKind
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.crossing.crossing_stands import StandIs
from seedbank.sowing.tables import LossCause, Protection, SowingMethod


def _listed(cell: Any) -> Any:
    if isinstance(cell, str):
        return [part for piece in cell.split(";") if (part := " ".join(piece.split()))]
    return cell


Celsius = Annotated[float, Field(ge=-40, le=60)]
Humidity = Annotated[float, Field(ge=1, le=99)]
Number = Annotated[int, Field(ge=0, le=MOST)]
SomeNumber = Annotated[int, Field(ge=1, le=MOST)]
Metres = Annotated[float, Field(ge=0, le=100_000)]
Season = Annotated[int, Field(ge=1900, le=2199)]
Labels = Annotated[list[Name], BeforeValidator(_listed)]
Sizes = Annotated[
    list[Annotated[int, Field(ge=1, le=10_000)]],
    BeforeValidator(_listed),
    Field(min_length=1, max_length=100),
]


class CsvRow(BaseModel):
    """One line of a file, each cell read as its column says."""

    model_config = ConfigDict(
        extra="forbid", allow_inf_nan=False, frozen=True, str_strip_whitespace=True
    )
    may_be_to_come: ClassVar[frozenset[str]] = frozenset()  # days that needn't have happened


class PlaceRow(CsvRow):
    place: Name
    winter_temperature_c: Celsius | None = None
    summer_temperature_c: Celsius | None = None
    winter_rh_pct: Humidity | None = None
    summer_rh_pct: Humidity | None = None
    seed_moisture_pct: Annotated[float, Field(ge=1, le=50)] | None = None
    sealed: bool = False
    notes: Notes = ""


class KindFactRow(CsvRow):
    """A fact of the keeper's own; a kind no table knows is added by its first line here."""

    kind: Name
    fact: FactName
    value: Annotated[Line, Field(min_length=1)]
    source: Annotated[Remark, Field(min_length=3)]


class VarietyRow(CsvRow):
    kind: Name
    variety: Name
    breeding: Breeding = Breeding.UNKNOWN
    other_keepers: OtherKeepers = OtherKeepers.MANY
    plants_wanted: Number = 0
    reserve_seeds: Number = 0
    notes: Notes = ""


class LotRow(CsvRow):
    """What a lot is made of has the bounds that ``LotCreate`` sets, and no others."""

    may_be_to_come = frozenset({"harvest_date", "acquired_on"})  # the form sees to it

    label: Name
    kind: Name
    variety: Name
    origin: Origin
    code: Name | None = None
    donor: str = ""
    harvest_year: int | None = None
    harvest_date: Day | None = None
    harvest_estimated: bool = False
    acquired_on: Day | None = None
    parents: Labels = []
    generation: int | None = None
    seed_parents: int | None = None
    isolation: Isolation = Isolation.UNKNOWN
    purity: Purity = Purity.UNKNOWN
    purity_note: str = ""
    treated: bool = False
    thousand_seed_weight_g: float | None = None
    thousand_seed_weight_se_g: float | None = None
    notes: str = ""


class StayRow(CsvRow):
    lot: Name
    place: Name
    from_date: Day


class MovementRow(CsvRow):
    """Amounts bear no sign, the reason tells it; a stock-take says what was found.

    Of seed that came in both may be left empty: some, not counted.
    """

    lot: Name
    date: Day
    reason: MovementReason
    seeds: Number | None = None
    grams: Annotated[float, Field(ge=0, le=1_000_000)] | None = None
    note: Remark = ""


class TestRow(CsvRow):
    __test__ = False  # not a pytest class

    test: Name
    lot: Name
    started_on: Day
    replicate_seeds: Sizes
    finished_on: Day | None = None
    substratum: Substratum = Substratum.PAPER_TOWEL
    pretreatment: Pretreatment = Pretreatment.NONE
    temperature_c: Celsius | None = None
    in_light: bool | None = None
    notes: Notes = ""


class CountRow(CsvRow):
    """Seeds judged and taken out that day. A second line for the same day corrects the first."""

    test: Name
    replicate: Annotated[int, Field(ge=1, le=100)]
    date: Day
    normal: Number = 0
    abnormal: Number = 0
    hard: Number = 0
    fresh: Number = 0
    dead: Number = 0
    why_corrected: Remark = ""

    @property
    def judged(self) -> int:
        return self.normal + self.abnormal + self.hard + self.fresh + self.dead


class SowingRow(CsvRow):
    sowing: Name
    lot: Name
    date: Day
    method: SowingMethod
    seeds: SomeNumber
    protection: Protection = Protection.OPEN
    row_m: Annotated[float, Field(gt=0, le=100_000)] | None = None
    area_m2: Annotated[float, Field(gt=0, le=1_000_000)] | None = None
    stations: SomeNumber | None = None
    soil_temperature_c: Celsius | None = None
    plants_wanted: Number | None = None
    finished_on: Day | None = None
    notes: Notes = ""


class EmergenceRow(CsvRow):
    sowing: Name
    date: Day
    emerged_so_far: Number
    correction: bool = False


class LossRow(CsvRow):
    sowing: Name
    date: Day
    cause: LossCause
    lost: SomeNumber
    after_emergence: bool = False


class SiteRow(CsvRow):
    """``other_sites`` and ``metres`` go together, in order; each pair may be said once only."""

    site: Name
    seed_bed_m2: Annotated[float, Field(ge=0, le=1_000_000)] | None = None
    other_sites: Labels = []
    metres: Annotated[list[Metres], BeforeValidator(_listed)] = []
    notes: Notes = ""

    @model_validator(mode="after")
    def _metres_for_each(self) -> Self:
        if len(self.other_sites) != len(self.metres):
            raise ValueError("give metres for each of other_sites, separated by semicolons")
        return self


class GearRow(CsvRow):
    gear: Name
    sort: GearKind
    pieces: Annotated[int, Field(ge=1, le=10_000)] = 1
    covers_m2: Annotated[float, Field(gt=0, le=10_000)] | None = None
    notes: Notes = ""


class FloweringRow(CsvRow):
    """What flowers in a year; ``distance_m`` is for a neighbour's and wild plants."""

    may_be_to_come = frozenset({"from_date", "to_date"})

    year: Season
    site: Name
    kind: Name
    what: StandIs
    variety: Name | None = None
    distance_m: Metres | None = None
    from_date: Day | None = None
    to_date: Day | None = None
    stopped_on: Day | None = None
    notes: Notes = ""


class SeedCropRow(CsvRow):
    """A seed crop; ``lot`` is the lot sown and ``result_lot`` the lot harvested."""

    may_be_to_come = frozenset({"sow_on", "flower_from", "flower_to"})

    kind: Name
    variety: Name
    site: Name
    flower_year: Season
    purpose: Purpose
    planned_on: Day
    lot: Name | None = None
    isolation: Isolation = Isolation.UNKNOWN
    gear: Name | None = None
    sow_on: Day | None = None
    sown_on: Day | None = None
    sowing: Name | None = None
    parents_started: Number | None = None
    parents_rogued: Number | None = None
    parents_kept: Number | None = None
    flower_from: Day | None = None
    flower_to: Day | None = None
    harvested_on: Day | None = None
    result_lot: Name | None = None
    failed_on: Day | None = None
    why_failed: Remark = ""
    cleaning: Remark = ""
    drying: Remark = ""
    notes: Notes = ""


ROW_TYPES: dict[str, type[CsvRow]] = {
    "places.csv": PlaceRow,
    "kinds.csv": KindFactRow,
    "varieties.csv": VarietyRow,
    "lots.csv": LotRow,
    "stays.csv": StayRow,
    "movements.csv": MovementRow,
    "tests.csv": TestRow,
    "counts.csv": CountRow,
    "sowings.csv": SowingRow,
    "emergence.csv": EmergenceRow,
    "losses.csv": LossRow,
    "sites.csv": SiteRow,
    "gear.csv": GearRow,
    "flowering.csv": FloweringRow,
    "seed_crops.csv": SeedCropRow,
}


def days_of(row: CsvRow) -> dict[str, date]:
    """The filled date cells of a line that must have happened, by column."""
    planned = row.may_be_to_come
    return {name: cell for name, cell in row if isinstance(cell, date) and name not in planned}
