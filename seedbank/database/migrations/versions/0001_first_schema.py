"""The first schema: kinds, lots, their ledger and places, tests, sowings, answered requests."""

from alembic import op

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table, create_unique_where, words

revision: str = "0001"
down_revision: str | None = None


def upgrade() -> None:
    _kinds_and_varieties()
    _lots()
    _lineage()
    _ledger()
    _places()
    _tests()
    _counts()
    _sowings()
    _coming_up()
    _requests()


def _kinds_and_varieties() -> None:
    create_table(
        "kind",
        a.whole("version", "id"),
        a.text("slug", length=80),
        a.text("name", length=120),
        a.flag("packaged"),
        unique=[["slug"]],
        indexed=["name"],
    )
    create_table(
        "kind_fact",
        a.whole("id", "kind_id"),
        a.text("name", length=40),
        a.text("value", length=200),
        a.text("source", length=400),
        links={"kind_id": "kind"},
        unique=[["kind_id", "name"]],
    )
    create_table(
        "variety",
        a.whole("version", "id", "kind_id"),
        a.text("name", length=120),
        a.word("breeding", "other_keepers"),
        a.whole("plants_wanted", "reserve_seeds"),
        a.text("notes", length=4000),
        links={"kind_id": "kind"},
        unique=[["kind_id", "name"]],
        rules={"plants_wanted": "plants_wanted >= 0", "reserve_seeds": "reserve_seeds >= 0"}
        | words(
            {
                "breeding": "breeding: open-pollinated landrace f1 unknown",
                "other_keepers": "otherkeepers: none few many",
            }
        ),
        indexed=["name"],
    )


def _lots() -> None:
    create_table("code_counter", a.whole("id", "given_out"), rules={"one_row": "id = 1"})
    create_table(
        "lot",
        a.whole("version", "id"),
        a.text("code", length=12),
        a.whole("variety_id"),
        a.word("origin"),
        a.text("donor", length=200),
        a.whole("harvest_year", null=True),
        a.day("harvest_date", null=True),
        a.flag("harvest_estimated"),
        a.day("acquired_on", null=True),
        a.whole("generation", "seed_parents", null=True),
        a.word("isolation"),
        a.flag("treated"),
        a.real("thousand_seed_weight_g", "thousand_seed_weight_se_g", null=True),
        a.text("notes", length=4000),
        a.moment("created_at"),
        links={"variety_id": "variety"},
        unique=[["code"]],
        rules={
            "generation": "generation >= 0",
            "harvest_year": "harvest_year BETWEEN 1800 AND 2200",
            "seed_parents": "seed_parents >= 1",
            "thousand_seed_weight_g": "thousand_seed_weight_g > 0",
            "thousand_seed_weight_se_g": "thousand_seed_weight_se_g >= 0",
        }
        | words(
            {
                "origin": "origin: bought swapped gift self-saved collected",
                "isolation": "isolation: unknown none distance time cage bag "
                "hand-pollination only-variety",
            }
        ),
        indexed=["harvest_year", "origin", "variety_id"],
    )


def _lineage() -> None:
    create_table(
        "lot_parent",
        a.whole("lot_id", "parent_id"),
        key=["lot_id", "parent_id"],
        links={"lot_id": "lot", "parent_id": "lot"},
        indexed=["parent_id"],
    )


def _ledger() -> None:
    create_table(
        "movement",
        a.whole("id", "lot_id", "serial"),
        a.day("on_date"),
        a.word("reason"),
        a.whole("seeds"),
        a.real("seeds_se"),
        a.whole("balance_seeds"),
        a.real("grams", "thousand_seed_weight_g", null=True),
        a.whole("reverses_id", null=True),
        a.text("note", length=400),
        a.moment("recorded_at"),
        links={"lot_id": "lot", "reverses_id": "movement"},
        unique=[["lot_id", "serial"]],
        rules={
            "balance_seeds": "balance_seeds >= 0",
            "grams": "grams >= 0",
            "seeds_se": "seeds_se >= 0",
            "serial": "serial >= 1",
        }
        | words(
            {"reason": "movementreason: acquired harvested tested sown given discarded stock-take"}
        ),
    )
    create_unique_where(
        "uq_movement_reverses_id", "movement", ["reverses_id"], "reverses_id IS NOT NULL"
    )


def _places() -> None:
    create_table(
        "place",
        a.whole("version", "id"),
        a.text("name", length=120),
        a.real("temp_winter_c", "temp_summer_c", null=True),
        a.real("rh_winter_pct", "rh_summer_pct", null=True),
        a.real("seed_moisture_pct", null=True),
        a.flag("sealed"),
        a.text("notes", length=4000),
        unique=[["name"]],
        rules={
            "rh_summer_pct": "rh_summer_pct BETWEEN 1 AND 99",
            "rh_winter_pct": "rh_winter_pct BETWEEN 1 AND 99",
            "seed_moisture_pct": "seed_moisture_pct BETWEEN 1 AND 50",
            "temp_summer_c": "temp_summer_c BETWEEN -40 AND 60",
            "temp_winter_c": "temp_winter_c BETWEEN -40 AND 60",
        },
    )
    create_table(
        "stay",
        a.whole("id", "lot_id", "place_id"),
        a.day("from_date"),
        links={"lot_id": "lot", "place_id": "place"},
        unique=[["lot_id", "from_date"]],
        indexed=["place_id"],
    )


def _tests() -> None:
    create_table(
        "germination_test",
        a.whole("version", "id", "lot_id"),
        a.word("substratum", "pretreatment"),
        a.real("temp_c", null=True),
        a.flag("in_light", null=True),
        a.day("started_on"),
        a.day("first_count_due", "final_count_due", "finished_on", null=True),
        a.whole("judged_seeds", "normal_seeds", "viable_seeds", null=True),
        a.real("correlation", null=True),
        a.whole("movement_id", null=True),
        a.text("notes", length=4000),
        a.moment("created_at"),
        links={"lot_id": "lot", "movement_id": "movement"},
        indexed=["started_on"],
        rules=words(
            {
                "substratum": "substratum: paper-towel blotter sand compost other",
                "pretreatment": "pretreatment: none prechill light scarify soak",
            }
        ),
    )
    op.create_index(
        "ix_germination_test_finished_on", "germination_test", ["finished_on", "started_on"]
    )
    op.create_index("ix_germination_test_lot_id", "germination_test", ["lot_id", "finished_on"])
    create_table(
        "replicate",
        a.whole("id", "test_id", "number", "seeds_set"),
        links={"test_id": "germination_test"},
        unique=[["test_id", "number"]],
        rules={"seeds_set": "seeds_set >= 1"},
    )


def _counts() -> None:
    create_table(
        "germination_count",
        a.whole("id", "replicate_id"),
        a.day("on_date"),
        a.whole("revision"),
        a.flag("current"),
        a.whole("normal", "abnormal", "hard", "fresh", "dead"),
        a.text("why_corrected", length=400),
        a.moment("recorded_at"),
        links={"replicate_id": "replicate"},
        unique=[["replicate_id", "on_date", "revision"]],
        rules={
            "never_negative": "normal >= 0 AND abnormal >= 0 AND hard >= 0 "
            "AND fresh >= 0 AND dead >= 0"
        },
    )
    create_unique_where(
        "uq_germination_count_current", "germination_count", ["replicate_id", "on_date"], "current"
    )


def _sowings() -> None:
    create_table(
        "sowing",
        a.whole("version", "id", "lot_id"),
        a.day("sown_on"),
        a.word("method", "protection"),
        a.whole("seeds_sown"),
        a.real("row_m", "area_m2", null=True),
        a.whole("stations", null=True),
        a.real("soil_temp_c", null=True),
        a.whole("plants_wanted", null=True),
        a.day("finished_on", null=True),
        a.whole("movement_id", null=True),
        a.text("notes", length=4000),
        a.moment("created_at"),
        links={"lot_id": "lot", "movement_id": "movement"},
        rules={
            "area_m2": "area_m2 > 0",
            "row_m": "row_m > 0",
            "seeds_sown": "seeds_sown >= 1",
            "stations": "stations >= 1",
        }
        | words(
            {
                "method": "sowingmethod: row station module broadcast",
                "protection": "protection: open fleece cold-frame tunnel indoors",
            }
        ),
        indexed=["sown_on"],
    )
    op.create_index("ix_sowing_finished_on", "sowing", ["finished_on", "sown_on"])
    op.create_index("ix_sowing_lot_id", "sowing", ["lot_id", "sown_on"])


def _coming_up() -> None:
    create_table(
        "emergence",
        a.whole("id", "sowing_id"),
        a.day("on_date"),
        a.whole("units_emerged"),
        a.flag("correction"),
        a.moment("recorded_at"),
        links={"sowing_id": "sowing"},
        unique=[["sowing_id", "on_date"]],
        rules={"units_emerged": "units_emerged >= 0"},
    )
    create_table(
        "sowing_loss",
        a.whole("id", "sowing_id"),
        a.day("on_date"),
        a.word("cause"),
        a.whole("units_lost"),
        a.flag("after_emergence"),
        a.moment("recorded_at"),
        links={"sowing_id": "sowing"},
        rules={"units_lost": "units_lost >= 1"}
        | words({"cause": "losscause: not-emerged eaten frost dried-out"}),
        indexed=["sowing_id"],
    )


def _requests() -> None:
    create_table(
        "answered_request",
        a.text("key", length=255),
        a.text("fingerprint", length=64),
        a.whole("status"),
        a.text("location", length=400),
        a.text("etag", length=80),
        a.text("body"),
        a.moment("answered_at"),
        key=["key"],
        indexed=["answered_at"],
    )
