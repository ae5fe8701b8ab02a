"""The collection files: which there are, their columns, and what each cell may hold.

What a form has bounds for is held against them where the form is filled from the line.

A column with a default may be left out of a file, or left empty in a line. Lists within a cell
(parents, replicate sizes) are separated by semicolons. Lots are named by the label written in
lots.csv or by a lot code; tests and sowings by any name that occurs once in their file.
"""

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, ClassVar, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from seedbank.common.forms import Day, Line, Name, Remark
from seedbank.facts.kinds import KeptAs
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


Labels = Annotated[list[Name], BeforeValidator(_listed)]
Sizes = Annotated[list[int], BeforeValidator(_listed)]


class CsvRow(BaseModel):
    """One line of a file, each cell read as its column says."""

    model_config = ConfigDict(
        extra="forbid", allow_inf_nan=False, frozen=True, str_strip_whitespace=True
    )
    may_be_to_come: ClassVar[frozenset[str]] = frozenset()  # days that needn't have happened
    fields: ClassVar[Mapping[str, str]] = {}  # what its form calls a column, where otherwise
    names: ClassVar[frozenset[str]] = frozenset()  # columns that name what other files tell of

    def told(self) -> dict[str, Any]:
        """The filled cells as fields of the form they are for."""
        filled = self.model_fields_set - self.names
        return {self.fields.get(name, name): getattr(self, name) for name in filled}


class PlaceRow(CsvRow):
    fields = {
        "place": "name",
        "winter_temperature_c": "temp_winter_c",
        "summer_temperature_c": "temp_summer_c",
        "winter_rh_pct": "rh_winter_pct",
        "summer_rh_pct": "rh_summer_pct",
    }

    place: Name
    winter_temperature_c: float | None = None
    summer_temperature_c: float | None = None
    winter_rh_pct: float | None = None
    summer_rh_pct: float | None = None
    seed_moisture_pct: float | None = None
    sealed: bool = False
    notes: str = ""


class KindFactRow(CsvRow):
    """A fact of the keeper's own; a kind no table knows is added by its first line here."""

    kind: Name
    fact: FactName
    value: Annotated[Line, Field(min_length=1)]
    source: Annotated[Remark, Field(min_length=3)]


class VarietyRow(CsvRow):
    fields = {"variety": "name"}
    names = frozenset({"kind"})

    kind: Name
    variety: Name
    breeding: Breeding = Breeding.UNKNOWN
    other_keepers: OtherKeepers = OtherKeepers.MANY
    plants_wanted: int = 0
    reserve_seeds: int = 0
    notes: str = ""


class LotRow(CsvRow):
    names = frozenset({"label", "code", "kind", "variety", "parents"})
    may_be_to_come = frozenset({"harvest_date", "acquired_on", "sow_by"})  # the form sees to it

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
    sow_by: Day | None = None
    kept_as: KeptAs | None = None
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

    fields = {"date": "on_date", "seeds": "amount"}
    names = frozenset({"lot", "reason", "seeds", "grams"})

    lot: Name
    date: Day
    reason: MovementReason
    seeds: int | None = None
    grams: float | None = None
    note: str = ""


class TestRow(CsvRow):
    __test__ = False  # not a pytest class
    fields = {"replicate_seeds": "replicates", "temperature_c": "temp_c"}
    names = frozenset({"test", "lot", "finished_on"})

    test: Name
    lot: Name
    started_on: Day
    replicate_seeds: Sizes
    finished_on: Day | None = None
    substratum: Substratum = Substratum.PAPER_TOWEL
    pretreatment: Pretreatment = Pretreatment.NONE
    temperature_c: float | None = None
    in_light: bool | None = None
    notes: str = ""


class CountRow(CsvRow):
    """Seeds judged and taken out that day. A second line for the same day corrects the first."""

    names = frozenset({"test", "date", "why_corrected"})

    test: Name
    replicate: int
    date: Day
    normal: int = 0
    abnormal: int = 0
    hard: int = 0
    fresh: int = 0
    dead: int = 0
    why_corrected: Remark = ""


class SowingRow(CsvRow):
    fields = {"date": "sown_on", "seeds": "seeds_sown", "soil_temperature_c": "soil_temp_c"}
    names = frozenset({"sowing", "lot", "finished_on"})

    sowing: Name
    lot: Name
    date: Day
    method: SowingMethod
    seeds: int
    protection: Protection = Protection.OPEN
    row_m: float | None = None
    area_m2: float | None = None
    stations: int | None = None
    soil_temperature_c: float | None = None
    plants_wanted: int | None = None
    finished_on: Day | None = None
    notes: str = ""


class EmergenceRow(CsvRow):
    fields = {"date": "on_date", "emerged_so_far": "units_emerged"}
    names = frozenset({"sowing"})

    sowing: Name
    date: Day
    emerged_so_far: int
    correction: bool = False


class LossRow(CsvRow):
    fields = {"date": "on_date", "lost": "units_lost"}
    names = frozenset({"sowing"})

    sowing: Name
    date: Day
    cause: LossCause
    lost: int
    after_emergence: bool = False


class SiteRow(CsvRow):
    """``other_sites`` and ``metres`` go together, in order; each pair may be said once only."""

    fields = {"site": "name"}
    names = frozenset({"other_sites", "metres"})

    site: Name
    seed_bed_m2: float | None = None
    other_sites: Labels = []
    metres: Annotated[list[float], BeforeValidator(_listed)] = []
    notes: str = ""

    @model_validator(mode="after")
    def _metres_for_each(self) -> Self:
        if len(self.other_sites) != len(self.metres):
            raise ValueError("give metres for each of other_sites, separated by semicolons")
        return self


class GearRow(CsvRow):
    fields = {"gear": "name", "sort": "gear"}

    gear: Name
    sort: GearKind
    pieces: int = 1
    covers_m2: float | None = None
    notes: str = ""


class FloweringRow(CsvRow):
    """What flowers in a year; ``distance_m`` is for a neighbour's and wild plants."""

    may_be_to_come = frozenset({"from_date", "to_date"})
    names = frozenset({"site", "kind", "variety"})

    year: int
    site: Name
    kind: Name
    what: StandIs
    variety: Name | None = None
    distance_m: float | None = None
    from_date: Day | None = None
    to_date: Day | None = None
    stopped_on: Day | None = None
    notes: str = ""


class SeedCropRow(CsvRow):
    """A seed crop; ``lot`` is the lot sown and ``result_lot`` the lot harvested."""

    may_be_to_come = frozenset({"sow_on", "flower_from", "flower_to"})
    names = frozenset({"kind", "variety", "site", "lot", "result_lot", "sowing", "gear"})

    kind: Name
    variety: Name
    site: Name
    flower_year: int
    purpose: Purpose
    planned_on: Day
    lot: Name | None = None
    isolation: Isolation = Isolation.UNKNOWN
    gear: Name | None = None
    sow_on: Day | None = None
    sown_on: Day | None = None
    sowing: Name | None = None
    parents_started: int | None = None
    parents_rogued: int | None = None
    parents_kept: int | None = None
    flower_from: Day | None = None
    flower_to: Day | None = None
    harvested_on: Day | None = None
    result_lot: Name | None = None
    failed_on: Day | None = None
    why_failed: str = ""
    cleaning: str = ""
    drying: str = ""
    notes: str = ""


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
