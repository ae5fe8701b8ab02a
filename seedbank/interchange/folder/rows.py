"""The files of a collection written by hand: which there are, and what each cell may hold.

They are those of an export, one a table with its columns. What a line says of a thing is declared
where the thing is, and held to the bounds of the form it fills. Where a table refers to a row by
its number a line names it (``variety`` for ``variety_id``): lots by the label written in lot.csv or
by a lot code, tests and sowings by any name that occurs once in their file. Lists within a cell
(parents, replicates) are separated by semicolons.

A column with a default may be left out of a file, or left empty in a line. Files and columns that
were called otherwise before (``was``, ``before``) are read under that name for ever.
"""

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, ClassVar, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, model_validator

from seedbank.climate.tables import ClimateFields
from seedbank.common.fields import read_from_text
from seedbank.common.forms import Day, Name, Remark
from seedbank.emergence.tables import EmergenceFields, LossFields, SowingFields
from seedbank.germination.tables import ConditionFields, SeedCounts
from seedbank.kinds.tables import FactFields, FactName, VarietyFields
from seedbank.lots.tables.ledger import MovementReason
from seedbank.lots.tables.lots import LotFields
from seedbank.lots.tables.places import PlaceFields
from seedbank.saving.tables import FloweringFields, GearFields, GrownCropFields, SiteFields


def _listed(cell: Any) -> Any:
    if isinstance(cell, str):
        return [part for piece in cell.split(";") if (part := " ".join(piece.split()))]
    return cell


Labels = Annotated[list[Name], BeforeValidator(_listed)]
Sizes = Annotated[list[int], BeforeValidator(_listed)]
Metres = Annotated[list[float], BeforeValidator(_listed)]


class CsvRow(BaseModel):
    """One line of a file, each cell read as its column says."""

    model_config = ConfigDict(
        extra="forbid", allow_inf_nan=False, frozen=True, str_strip_whitespace=True
    )
    table: ClassVar[str]
    was: ClassVar[str]
    before: ClassVar[Mapping[str, str]] = {}
    names: ClassVar[frozenset[str]] = frozenset()
    """Columns that name what other lines tell of, or that no form has."""
    may_be_to_come: ClassVar[frozenset[str]] = frozenset()
    """Days that needn't have happened."""

    @classmethod
    def __pydantic_init_subclass__(cls, **kwargs: Any) -> None:
        super().__pydantic_init_subclass__(**kwargs)
        read_from_text(cls)

    @classmethod
    def writes_as_before(cls, stem: str, header: list[str]) -> bool:
        """Whether a file of this name and header has its columns by their names of before."""
        return stem == cls.was != cls.table or bool(
            ({*cls.before} - {*cls.model_fields}) & {*header}
        )

    def filled_cells(self) -> dict[str, Any]:
        """The filled cells that are fields of the form they are for."""
        return {name: getattr(self, name) for name in self.model_fields_set - self.names}

    def days(self) -> dict[str, date]:
        """The filled date cells that must have happened, by column."""
        planned = self.may_be_to_come
        return {name: cell for name, cell in self if isinstance(cell, date) and name not in planned}


class PlaceRow(PlaceFields, CsvRow):
    table, was = "place", "places"
    before = {
        "place": "name",
        "winter_temperature_c": "temp_winter_c",
        "summer_temperature_c": "temp_summer_c",
        "winter_rh_pct": "rh_winter_pct",
        "summer_rh_pct": "rh_summer_pct",
    }


class KindFactRow(FactFields, CsvRow):
    """A fact of the keeper's own; a kind no table knows is added by its first line here."""

    table, was = "kind_fact", "kinds"
    before = {"fact": "name"}
    names = frozenset({"kind", "name"})

    kind: Name
    name: FactName


class VarietyRow(VarietyFields, CsvRow):
    table, was = "variety", "varieties"
    before = {"variety": "name"}
    names = frozenset({"kind"})

    kind: Name


class LotRow(LotFields, CsvRow):
    table, was = "lot", "lots"
    names = frozenset({"label", "code", "kind", "variety", "parents"})
    may_be_to_come = frozenset({"harvest_date", "acquired_on", "sow_by"})  # the form sees to it

    label: Name
    kind: Name
    variety: Name
    code: Name | None = None
    parents: Labels = []


class MixturePartRow(CsvRow):
    """One part of a mixture: ``part`` is the lot it is seed of, or ``name`` says what it is."""

    table, was = "mixture_part", "mixtures"

    lot: Name
    part: Name | None = None
    name: str = ""
    share: float | None = None


class StayRow(CsvRow):
    table, was = "stay", "stays"

    lot: Name
    place: Name
    from_date: Day
    sealed_anew: bool = False


class MovementRow(CsvRow):
    """Amounts bear no sign, the reason tells it; a stock-take says what was found.

    Of seed that came in both may be left empty: some, not counted.
    """

    table, was = "movement", "movements"
    before = {"date": "on_date"}

    lot: Name
    on_date: Day
    reason: MovementReason
    seeds: int | None = None
    grams: float | None = None
    note: str = ""


class TestRow(ConditionFields, CsvRow):
    __test__ = False  # not a pytest class
    table, was = "germination_test", "tests"
    before = {"replicate_seeds": "replicates", "temperature_c": "temp_c"}
    names = frozenset({"test", "lot", "finished_on"})

    test: Name
    lot: Name
    started_on: Day
    replicates: Sizes
    finished_on: Day | None = None


class CountRow(SeedCounts, CsvRow):
    """Seeds judged and taken out that day. A second line for the same day corrects the first."""

    table, was = "germination_count", "counts"
    before = {"date": "on_date"}
    names = frozenset({"test", "on_date", "why_corrected"})

    test: Name
    replicate: int
    on_date: Day
    why_corrected: Remark = ""


class SowingRow(SowingFields, CsvRow):
    table, was = "sowing", "sowings"
    before = {"date": "sown_on", "seeds": "seeds_sown", "soil_temperature_c": "soil_temp_c"}
    names = frozenset({"sowing", "lot", "finished_on"})

    sowing: Name
    lot: Name
    sown_on: Day
    seeds_sown: int
    finished_on: Day | None = None


class EmergenceRow(EmergenceFields, CsvRow):
    table = was = "emergence"
    before = {"date": "on_date", "emerged_so_far": "units_emerged"}
    names = frozenset({"sowing"})

    sowing: Name
    on_date: Day


class LossRow(LossFields, CsvRow):
    table, was = "sowing_loss", "losses"
    before = {"date": "on_date", "lost": "units_lost"}
    names = frozenset({"sowing"})

    sowing: Name
    on_date: Day


class SiteRow(SiteFields, CsvRow):
    """``other_sites`` and ``metres`` go together, in order; each pair may be said once only."""

    table, was = "site", "sites"
    before = {"site": "name"}
    names = frozenset({"other_sites", "metres"})

    other_sites: Labels = []
    metres: Metres = []

    @model_validator(mode="after")
    def _metres_for_each(self) -> Self:
        if len(self.other_sites) != len(self.metres):
            raise ValueError("give metres for each of other_sites, separated by semicolons")
        return self


class ClimateRow(ClimateFields, CsvRow):
    """The climate of a site; of the garden where none is named. ``monthly_c`` are twelve numbers,
    separated by semicolons."""

    table, was = "garden_climate", "climate"
    names = frozenset({"site"})

    site: Name | None = None

    @model_validator(mode="before")
    @classmethod
    def _months(cls, cells: dict[str, Any]) -> dict[str, Any]:
        listed = _listed(cells.get("monthly_c"))
        return cells if listed is None else {**cells, "monthly_c": list(map(_number, listed))}


def _number(cell: str) -> float | str:
    """A number, or the text that is none, to be complained of where it stands."""
    try:
        return float(cell)
    except ValueError:
        return cell


class GearRow(GearFields, CsvRow):
    table, was = "isolation_gear", "gear"
    before = {"gear": "name", "sort": "gear"}


class FloweringRow(FloweringFields, CsvRow):
    """What flowers in a year; ``distance_m`` is for a neighbour's and wild plants."""

    table = was = "flowering"
    may_be_to_come = frozenset({"from_date", "to_date"})
    names = frozenset({"site", "kind", "variety"})

    site: Name
    kind: Name
    variety: Name | None = None


class SeedCropRow(GrownCropFields, CsvRow):
    """A seed crop; ``lot`` is the lot sown and ``result_lot`` the lot harvested."""

    table, was = "seed_crop", "seed_crops"
    may_be_to_come = frozenset({"sow_on", "flower_from", "flower_to"})
    names = frozenset({"kind", "variety", "site", "lot", "result_lot", "sowing", "gear"})

    kind: Name
    variety: Name
    site: Name
    flower_year: int
    planned_on: Day
    lot: Name | None = None
    gear: Name | None = None
    sown_on: Day | None = None
    sowing: Name | None = None
    harvested_on: Day | None = None
    result_lot: Name | None = None
    failed_on: Day | None = None
    why_failed: str = ""


ROWS: tuple[type[CsvRow], ...] = (
    PlaceRow, KindFactRow, VarietyRow, LotRow, MixturePartRow, StayRow, MovementRow, TestRow,
    CountRow, SowingRow, EmergenceRow, LossRow, SiteRow, ClimateRow, GearRow, FloweringRow,
    SeedCropRow,
)  # fmt: skip
FILES: Mapping[str, type[CsvRow]] = {
    f"{name}.csv": row for row in ROWS for name in (row.was, row.table)
}
"""Each file by its name, also by the one it had before."""
