"""What a plan said when it was made, beside the crops it chose."""

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table

revision: str = "0005"
down_revision: str | None = "0004"


def upgrade() -> None:
    create_table(
        "plan_told",
        a.whole("plan_run_id"),
        a.text("told"),
        key=("plan_run_id",),
        links={"plan_run_id": "plan_run"},
    )
