"""Collections nobody would keep: every text hostile, every value that may be empty empty or not."""

import io
from datetime import UTC, date, datetime
from typing import Any

from annotated_types import Le
from hypothesis import strategies as st
from PIL import Image
from sqlalchemy import Table

from seedbank.interchange.bounds import bounds_of
from seedbank.interchange.folder.columns import CellType, ColumnSpec, specs_of
from seedbank.interchange.folder.whole_collection import collection_tables
from seedbank.lots.tables.ledger import MovementReason

# PostgreSQL holds neither the character nought nor half a surrogate pair.
_CHARACTERS = st.characters(exclude_categories=("Cs",), exclude_characters="\0")
_STARTS = st.sampled_from(
    [
        "",
        "=",
        "+",
        "-",
        "@",
        "\t",
        "\r",
        "\n",
        "'",
        '"',
        ",",
        " =",
        "\u2028",
        "🌱",
        "=cmd|'/c x'!A0",
    ]
)
_PICTURE = io.BytesIO()
Image.new("RGB", (12, 9), "olive").save(_PICTURE, "JPEG")
_DAYS = st.dates(date(1900, 1, 1), date(2199, 12, 31))
_MOMENTS = st.datetimes(datetime(1900, 1, 1), datetime(2199, 1, 1), timezones=st.just(UTC))
# What keeps every rule of the schema, where a rule is about more than one column or a range.
_WITHIN: dict[str, Any] = {
    "temp_winter_c": st.floats(-40, 60),
    "temp_summer_c": st.floats(-40, 60),
    "rh_winter_pct": st.floats(1, 99),
    "rh_summer_pct": st.floats(1, 99),
    "seed_moisture_pct": st.floats(1, 50),
    "share": st.floats(0.001, 1),
    "from_day": st.integers(1, 366),
    "to_day": st.integers(1, 366),
    "last_frost_day": st.integers(1, 366),
    "first_frost_day": st.integers(1, 366),
    "monthly_c": st.lists(st.floats(-60, 60), min_size=12, max_size=12),
    "jpeg": st.just(_PICTURE.getvalue()),
    "width_px": st.just(12),
    "height_px": st.just(9),
    "year": st.integers(1900, 2199),
    "first_year": st.integers(1900, 2199),
    "flower_year": st.integers(1900, 2199),
    "harvest_year": st.integers(1800, 2200),
    "packed_for": st.integers(1800, 2200),
    "packed_on": st.sampled_from(("1900", "2199-12", "2024-02-29")),
    "printed_test_on": st.sampled_from(("1900-01-01", "2199", "2024-02")),
    "parents_started": st.just(100),
    "parents_rogued": st.integers(0, 40),
    "parents_kept": st.integers(0, 40),
    "flower_from": st.just(date(2026, 6, 1)),
    "flower_to": st.dates(date(2026, 6, 1), date(2026, 9, 1)),
    "from_date": st.just(date(2026, 6, 1)),
    "to_date": st.dates(date(2026, 6, 1), date(2026, 9, 1)),
    "failed_on": st.none(),
    "choices": st.lists(st.dictionaries(st.text(_CHARACTERS), st.text(_CHARACTERS)), max_size=2),
}
_ONCE = ("code_counter", "garden_climate", "garden_limits")


def hostile_text(longest: int | None) -> st.SearchStrategy[str]:
    text = st.builds(str.__add__, _STARTS, st.text(_CHARACTERS, max_size=20))
    return text.map(lambda one: one[: longest or 100])


@st.composite
def hostile_collections(draw: st.DrawFn) -> dict[str, list[dict[str, Any]]]:
    """Two rows in every table that may have them, which refer to one another in any way."""
    bare = draw(st.booleans())  # everything that may be unknown is
    rows: dict[str, list[dict[str, Any]]] = {}
    for table in collection_tables():
        many = 1 if table.name in _ONCE or table.name.endswith(("distance", "parent")) else 2
        rows[table.name] = [_row(draw, table, number, bare) for number in range(1, many + 1)]
    return rows


def _row(draw: st.DrawFn, table: Table, number: int, bare: bool) -> dict[str, Any]:
    row = {spec.name: draw(_value(spec, number, bare)) for spec in specs_of(table)}
    if table.name in ("site_distance", "lot_parent"):
        row |= dict(zip(row, (1, 2), strict=False))
    if table.name == "garden_climate":
        row |= {"site_id": None}
    if table.name == "movement":
        row |= {"lot_id": number, "serial": 1, "balance_seeds": row["seeds"], "reverses_id": None}
        if row["seeds"] is None:  # only what comes in may be uncounted
            row["reason"] = MovementReason.ACQUIRED
    if table.name == "lot":
        if row["harvest_date"] is not None:
            row["harvest_year"] = row["harvest_date"].year
            row["acquired_on"] = row["acquired_on"] and max(row["acquired_on"], row["harvest_date"])
        row["harvest_estimated"] = True
        if row["thousand_seed_weight_g"] is None:
            row["thousand_seed_weight_se_g"] = None
    if table.name == "entry_doubt":
        row["amount"] = row["amount"] or not row["acquired_day"]
    if table.name == "germination_count":
        row["revision"] = 1
    return row


def _value(spec: ColumnSpec, number: int, bare: bool) -> st.SearchStrategy[Any]:
    if spec.has_null and bare:
        return st.none()
    known = _known(spec, number)
    return st.none() | known if spec.has_null and spec.name != "site_id" else known


def _known(spec: ColumnSpec, number: int) -> st.SearchStrategy[Any]:
    if spec.name == "id" or spec.refers_to:
        return st.just(number)
    if spec.name in _WITHIN:
        return st.none() | _WITHIN[spec.name] if spec.has_null else _WITHIN[spec.name]
    if spec.holds is CellType.TEXT:
        # Told apart by their numbers, where a name must be one of its kind.
        return hostile_text((spec.longest or 100) - 2).map(lambda text: f"{text}{number}")
    if spec.holds is CellType.WORD:
        assert spec.vocabulary is not None
        return st.sampled_from(list(spec.vocabulary))
    bounds = bounds_of(spec.table, spec.name)
    most = next((one.le for one in bounds if isinstance(one, Le)), None)
    return {
        CellType.WHOLE: st.integers(1, 2_000_000_000 if most is None else most),
        CellType.NUMBER: st.floats(1e-300, 1e300 if most is None else most),
        CellType.YES_NO: st.booleans(),
        CellType.DATE: _DAYS,
        CellType.MOMENT: _MOMENTS,
    }[spec.holds]
