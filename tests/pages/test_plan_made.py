"""A plan made on the page, in a garden small enough to plan at once."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from seedbank.database.engine import session_factory
from seedbank.kinds.edit_varieties import add_variety
from seedbank.kinds.forms import VarietyCreate
from seedbank.lots.forms import LotCreate
from seedbank.lots.take_in_lots import take_in_lot
from seedbank.saving.edit_sites import add_site
from seedbank.saving.forms import SiteCreate
from seedbank.server.app import create_server
from seedbank.settings import Settings
from seedbank.upkeep.open_collection import open_collection
from tests.pages.conftest import DEMO_DAY, Visitor

NOW = datetime(2027, 2, 20, 12, tzinfo=UTC)


@pytest.fixture
def small(tmp_path: Path) -> Iterator[Visitor]:
    """One site and two old, rare lots: a pea and a carrot."""
    url = f"sqlite:///{tmp_path / 'small.sqlite'}"
    engine = open_collection(url, now=NOW)
    with session_factory(engine)() as session:
        add_site(session, SiteCreate(name="Orchard end"))
        for kind in ("pea", "carrot"):
            variety = add_variety(
                session,
                VarietyCreate(
                    kind=kind,
                    name=f"Invented {kind}",
                    breeding="open-pollinated",
                    other_keepers="none",
                    plants_wanted=20,
                ),
            )
            form = {
                "variety_id": variety.id,
                "origin": "self-saved",
                "harvest_date": "2022-09-01",
                "amount": {"seeds": 600},
            }
            take_in_lot(session, LotCreate.model_validate(form), today=DEMO_DAY, now=NOW)
    engine.dispose()
    app = create_server(Settings(database_url=url, today=DEMO_DAY))
    with TestClient(app, "http://127.0.0.1:8000", raise_server_exceptions=False) as client:
        yield Visitor(app, client)
    app.state.wiring.writing.kw["bind"].dispose()


def test_a_plan_is_made_kept_and_explained_and_says_when_the_stock_has_moved_on(
    small: Visitor,
) -> None:
    empty = small.get("/plan")
    assert "None has been made yet." in empty.text
    made = small.send(empty, "/plan", horizon_years=3)
    assert (made.status, made.address) == (200, "/plan")
    assert "it takes in all that is on record" in made.text
    assert "Invented pea" in made.text
    assert "What would help" in made.text
    why = small.get("/plan/why")
    assert "The chance that the best lot raises its" in why.text
    assert made.soup.select_one("figure#years svg[role=img]") is not None

    [begin] = [
        form
        for form in made.soup.select('form[action="/plan/crop"]')
        if "Invented pea" in form.text
    ]
    sent = {str(i["name"]): str(i["value"]) for i in begin.select("input")} | {"do": "begin"}
    begun = small.client.post("/plan/crop", data=sent)
    assert begun.url.path == "/crop/1"
    # A crop begun as planned leaves the plan as good as it was; seed that goes does not.
    assert "it takes in all that is on record" in small.get("/plan").text
    crop = small.get("/crop/1")
    small.send(crop, "/crop/1/sow", seeds_sown=100)
    assert "the stock has changed since" in small.get("/plan").text
    assert "the stock has changed since" in small.get("/season").text


def test_supplies_are_worked_out_when_asked_and_then_remembered(small: Visitor) -> None:
    asked = small.get("/supply")
    assert "Work it out" in asked.text
    worked = small.get("/supply?work=yes")
    assert "To give away" in worked.text
    assert "Work it out" not in small.get("/supply").text
