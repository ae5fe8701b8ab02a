"""Seed saving: sites, isolation gear, what flowers, seed crops, pins and plans; a lot's purity."""

from alembic import op

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table, create_unique_where, words

revision: str = "0002"
down_revision: str | None = "0001"

_ISOLATION = "isolation: unknown none distance time cage bag hand-pollination only-variety"


def upgrade() -> None:
    _purity()
    _sites()
    _means()
    _flowering()
    _seed_crops()
    _plans()


def _purity() -> None:
    # One ALTER both databases know: no table is copied, and lots that are there get the default.
    op.execute(
        "ALTER TABLE lot ADD COLUMN purity VARCHAR(32) DEFAULT 'unknown' NOT NULL "
        "CONSTRAINT ck_lot_purity CHECK (purity IN ('unknown', 'isolated', 'risk'))"
    )
    op.execute("ALTER TABLE lot ADD COLUMN purity_note VARCHAR(400) DEFAULT '' NOT NULL")


def _sites() -> None:
    create_table(
        "site",
        a.whole("version", "id"),
        a.text("name", length=120),
        a.real("seed_bed_m2", null=True),
        a.text("notes", length=4000),
        unique=[["name"]],
        rules={"seed_bed_m2": "seed_bed_m2 >= 0"},
    )
    create_table(
        "site_distance",
        a.whole("site_id", "other_id"),
        a.real("metres"),
        key=["site_id", "other_id"],
        links={"site_id": "site", "other_id": "site"},
        rules={"each_pair_once": "site_id < other_id", "metres": "metres >= 0"},
        indexed=["other_id"],
    )


def _means() -> None:
    create_table(
        "isolation_gear",
        a.whole("version", "id"),
        a.text("name", length=120),
        a.word("gear"),
        a.whole("pieces"),
        a.real("covers_m2", null=True),
        a.text("notes", length=4000),
        unique=[["name"]],
        rules={"covers_m2": "covers_m2 > 0", "pieces": "pieces >= 1"}
        | words({"gear": "gearkind: cage bag net"}),
    )
    create_table(
        "garden_limits",
        a.whole("version", "id"),
        a.whole("seed_crops_a_year", null=True),
        rules={"one_row": "id = 1", "seed_crops_a_year": "seed_crops_a_year >= 0"},
    )


def _flowering() -> None:
    create_table(
        "flowering_window",
        a.whole("id", "kind_id"),
        a.whole("site_id", null=True),
        a.whole("from_day", "to_day"),
        a.text("source", length=400),
        links={"kind_id": "kind", "site_id": "site"},
        unique=[["kind_id", "site_id"]],
        rules={
            "from_day": "from_day BETWEEN 1 AND 366",
            "to_day": "to_day BETWEEN 1 AND 366",
        },
        indexed=["site_id"],
    )
    create_unique_where(
        "uq_flowering_window_anywhere", "flowering_window", ["kind_id"], "site_id IS NULL"
    )
    create_table(
        "flowering",
        a.whole("version", "id", "year", "site_id", "kind_id"),
        a.whole("variety_id", null=True),
        a.word("what"),
        a.real("distance_m", null=True),
        a.day("from_date", "to_date", "stopped_on", null=True),
        a.text("notes", length=4000),
        links={"site_id": "site", "kind_id": "kind", "variety_id": "variety"},
        rules={
            "distance_m": "distance_m >= 0",
            "to_date": "to_date >= from_date",
            "year": "year BETWEEN 1900 AND 2199",
        }
        | words({"what": "standis: seed-crop left-to-run self-sown neighbour wild"}),
        indexed=["kind_id", "site_id", "variety_id", "year"],
    )


def _seed_crops() -> None:
    create_table(
        "seed_crop",
        a.whole("version", "id", "variety_id"),
        a.whole("lot_id", null=True),
        a.whole("site_id"),
        a.day("sow_on", null=True),
        a.whole("flower_year"),
        a.word("purpose", "isolation"),
        a.whole("gear_id", "parents_started", "parents_rogued", "parents_kept", null=True),
        a.day("flower_from", "flower_to", null=True),
        a.day("planned_on"),
        a.day("sown_on", null=True),
        a.whole("sowing_id", null=True),
        a.day("harvested_on", "failed_on", null=True),
        a.text("why_failed", "cleaning", "drying", length=400),
        a.whole("result_lot_id", null=True),
        a.text("notes", length=4000),
        a.moment("created_at"),
        links={
            "variety_id": "variety",
            "lot_id": "lot",
            "site_id": "site",
            "gear_id": "isolation_gear",
            "sowing_id": "sowing",
            "result_lot_id": "lot",
        },
        rules={
            "flower_to": "flower_to >= flower_from",
            "flower_year": "flower_year BETWEEN 1900 AND 2199",
            "no_more_than_started": "coalesce(parents_rogued, 0) + coalesce(parents_kept, 0) "
            "<= parents_started",
            "one_end": "harvested_on IS NULL OR failed_on IS NULL",
            "parents_kept": "parents_kept >= 0",
            "parents_rogued": "parents_rogued >= 0",
            "parents_started": "parents_started >= 0",
        }
        | words({"purpose": "purpose: home keep rare", "isolation": _ISOLATION}),
        unique=[["result_lot_id"]],
        indexed=["flower_year", "gear_id", "lot_id", "site_id", "sowing_id", "variety_id"],
    )


def _plans() -> None:
    create_table(
        "plan_pin",
        a.whole("version", "id", "variety_id", "year"),
        a.whole("site_id", null=True),
        a.flag("wanted"),
        a.optional_word("isolation"),
        a.text("notes", length=4000),
        links={"variety_id": "variety", "site_id": "site"},
        rules={"year": "year BETWEEN 1900 AND 2199"} | words({"isolation": _ISOLATION}),
        indexed=["site_id", "variety_id", "year"],
    )
    create_table(
        "plan_run",
        a.whole("id", "first_year", "horizon_years"),
        a.json("choices"),
        a.moment("created_at"),
        rules={
            "first_year": "first_year BETWEEN 1900 AND 2199",
            "horizon_years": "horizon_years >= 1",
        },
    )
