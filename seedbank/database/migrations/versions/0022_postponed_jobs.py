"""Jobs of the front page can be put off until a day."""

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table

revision: str = "0022"
down_revision: str | None = "0021"


def upgrade() -> None:
    create_table(
        "postponed_job",
        a.text("job", length=120),
        a.day("until"),
        a.moment("put_off_at"),
        key=("job",),
    )
