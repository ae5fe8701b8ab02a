"""What was believed of a lot's viability before each test was finished, kept from now on."""

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table

revision: str = "0013"
down_revision: str | None = "0012"


def upgrade() -> None:
    create_table(
        "viability_forecast",
        a.whole("id", "test_id"),
        a.day("made_on"),
        a.whole("seeds", "viable_at_end"),
        a.real("median_pct", "low_90_pct", "high_90_pct", "expected"),
        a.whole("low_90", "low_50", "high_50", "high_90"),
        a.real("log_score", "alone_median_pct", "alone_low_90_pct", "alone_high_90_pct"),
        a.whole("alone_low_90", "alone_high_90"),
        a.real("alone_log_score"),
        links={"test_id": "germination_test"},
        unique=(("test_id",),),
    )
