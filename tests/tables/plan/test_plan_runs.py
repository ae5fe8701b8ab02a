from datetime import timedelta

from sqlmodel import Session

from seedbank.plan.tables import keep_plan_run, latest_plan_run
from tests.tables.conftest import NOW


def test_the_plan_made_last_is_found_with_its_choices(session: Session) -> None:
    assert latest_plan_run(session) is None
    for n in (1, 2):
        keep_plan_run(
            session,
            first_year=2027,
            horizon_years=6,
            choices=[{"variety": n, "years": [2027, 2030], "isolation": "cage"}],
            now=NOW - timedelta(days=n),
        )
    session.expire_all()
    found = latest_plan_run(session)
    assert found is not None
    assert found.choices == [{"variety": 2, "years": [2027, 2030], "isolation": "cage"}]
