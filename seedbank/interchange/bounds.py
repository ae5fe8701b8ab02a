"""The bounds that the rooms' forms set, by the table and column that their fields fill.

So an archive is held to what a gardener can enter, and so is a collection that is checked.
"""

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Annotated, Any, Final, get_args, get_origin

from annotated_types import Ge, Gt, Le
from pydantic import BaseModel, TypeAdapter, ValidationError

from seedbank.germination.forms import ReplicateResult, TestRecord
from seedbank.interchange.filled_forms import errors_of, filled
from seedbank.kinds.forms import VarietyCreate
from seedbank.lots.days import check_came_after_harvest
from seedbank.lots.forms import LotCreate, PlaceCreate
from seedbank.lots.tables.lots import Lot
from seedbank.saving.forms import (
    DistanceStated,
    FloweringCreate,
    GearCreate,
    SeedCropChange,
    SiteCreate,
)
from seedbank.sowing.forms import EmergenceCreate, LossCreate, SowingCreate

_FORMS: Final[Mapping[str, type[BaseModel]]] = {
    "place": PlaceCreate,
    "variety": VarietyCreate,
    "lot": LotCreate,
    "germination_test": TestRecord,
    "replicate": ReplicateResult,
    "sowing": SowingCreate,
    "emergence": EmergenceCreate,
    "sowing_loss": LossCreate,
    "site": SiteCreate,
    "site_distance": DistanceStated,
    "isolation_gear": GearCreate,
    "flowering": FloweringCreate,
    "seed_crop": SeedCropChange,
}


@cache
def bounds_of(table: str, column: str) -> tuple[Ge | Gt | Le, ...]:
    """The least and most a number or day may be; none where no form has such a field."""
    form = _FORMS.get(table)
    if form is None or column not in form.model_fields:
        return ()
    return tuple(_bounds(form.model_fields[column].rebuild_annotation()))


def _bounds(annotation: Any) -> Iterator[Ge | Gt | Le]:
    if get_origin(annotation) is Annotated:
        for one in getattr(annotation, "__metadata__", ()):
            parts = [one, *getattr(one, "metadata", ())]
            yield from (each for each in parts if isinstance(each, Ge | Gt | Le))
        annotation = get_args(annotation)[0]
    for part in get_args(annotation):
        yield from _bounds(part)


@cache
def _adapter(table: str, column: str) -> TypeAdapter[Any] | None:
    bounds = bounds_of(table, column)
    return TypeAdapter(Annotated[Any, *bounds]) if bounds else None


_TEXTS: Final = frozenset({"donor", "notes", "purity_note"})
_LOT: Final = frozenset(LotCreate.model_fields) & frozenset(Lot.model_fields) - _TEXTS


def check_lot(row: Mapping[str, Any]) -> None:
    """Raises Refused: a row of lots that no form would take, its texts apart."""
    filled(LotCreate, {name: cell for name, cell in row.items() if name in _LOT})
    check_came_after_harvest(Lot(**row))


def check_bounds(table: str, column: str, value: Any) -> None:
    """Raises ValueError: out of bounds; the message says what to write, as the form does."""
    adapter = _adapter(table, column)
    if adapter is None or value is None:
        return
    try:
        adapter.validate_python(value)
    except ValidationError as wrong:
        raise ValueError(errors_of(wrong)[0].mend) from wrong
