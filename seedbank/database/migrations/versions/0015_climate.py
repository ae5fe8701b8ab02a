"""The garden's climate and that of sites; whether a variety is for early, summer or winter."""

from alembic import op

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table, words

revision: str = "0015"
down_revision: str | None = "0013"


def upgrade() -> None:
    create_table(
        "garden_climate",
        a.whole("version", "id"),
        a.optional_json("monthly_c"),
        a.whole("last_frost_day", "first_frost_day", null=True),
        a.optional_word("hemisphere"),
        a.real("soil_shift_c"),
        a.text("source", length=200),
        a.whole("site_id", null=True),
        links={"site_id": "site"},
        rules={
            "first_frost_day": "first_frost_day BETWEEN 1 AND 366",
            "last_frost_day": "last_frost_day BETWEEN 1 AND 366",
            "one_row_each": "id = coalesce(site_id, 0) + 1",
        }
        | words({"hemisphere": "hemisphere: north south"}),
        indexed=["site_id"],
    )
    op.execute(
        "ALTER TABLE variety ADD COLUMN season VARCHAR(32) CONSTRAINT ck_variety_varietyseason "
        "CHECK (season IN ('early', 'summer', 'winter'))"
    )
