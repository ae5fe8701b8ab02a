"""A packet nobody counted, on its pages: some, and never none."""

from sqlalchemy import text

from seedbank.database.engine import open_engine, session_factory
from seedbank.database.migrations.doubted_entries import doubt_entries
from tests.pages.conftest import Visitor


def take_in(visitor: Visitor, **more: str) -> str:
    page = visitor.get("/take-in")
    return visitor.send(
        page, "/take-in", kind="Carrot", variety="Uncounted Lantern", next=None, **more
    ).address.split("?")[0]


def test_a_packet_taken_in_without_an_amount_can_be_used_on_every_page(visitor: Visitor) -> None:
    address = take_in(visitor, came_unknown="yes", harvest_year="2025")
    lot = visitor.get(address)
    assert "Some, not counted" in lot.text
    assert "None is left" not in lot.text
    assert "Here since not known" in lot.text
    for what in ("sow", "test", "give", "count", "move"):
        assert lot.soup.select(f'a[href="{address}/{what}"]')
    left = visitor.get(f"{address}/give?amount.seeds=30")
    assert "that leaves some, not counted" in left.text
    given = visitor.send(left, f"{address}/give", amount__seeds="30")
    assert "some is left, not counted" in given.text
    advice = visitor.get(f"{address}/sow?method=row&plants=20&was=row")
    assert "some of it, not counted" in advice.text
    found = visitor.get("/find?words=Uncounted")
    assert "some, not counted" in found.text
    assert "none left" not in found.text
    counted = visitor.send(visitor.get(f"{address}/count"), f"{address}/count", seeds="80")
    assert "Counted: 80 seeds, for the first time" in counted.text
    assert "more than on record" not in counted.text


def test_an_empty_packet_is_said_with_a_nought(visitor: Visitor) -> None:
    assert "None is left" in visitor.get(take_in(visitor, much="seeds", amount__seeds="0")).text


def test_lots_an_import_may_have_got_wrong_are_asked_about_once(visitor: Visitor) -> None:
    code = take_in(visitor, much="seeds", amount__seeds="0").rsplit("/", 1)[1]
    engine = open_engine(visitor.app.state.wiring.settings.database_url)
    with session_factory(engine)() as session:
        session.execute(text("DELETE FROM entry_doubt"))
        doubt_entries(session.connection())
        session.commit()
    engine.dispose()
    page = visitor.get("/entered")
    assert code in page.text
    fields = {"amount": "some", "lots[0]": code}
    form = next(
        one
        for one in page.soup.select('form[action="/entered"]')
        if one.select(f'input[value="{code}"]')
    )
    key = form.select_one('input[name="key"]')
    assert key is not None
    answered = visitor.client.post("/entered", data={**fields, "key": str(key["value"])})
    assert answered.status_code == 200
    assert code not in visitor.get("/entered").text
    assert "Some, not counted" in visitor.get(f"/lot/{code}").text


def test_grams_are_given_of_seed_whose_weight_nobody_knows(visitor: Visitor) -> None:
    post = visitor.client.post
    post("/kinds", json={"name": "Oddbean"}, headers={"Idempotency-Key": "kind"})
    page = visitor.get("/take-in?kind=oddbean")
    typed = {"variety": "Speckled", "much": "grams", "amount.grams": 12, "origin": "gift"}
    lot = visitor.send_fields(page, "/take-in", typed).address.partition("?")[0]
    assert "some, not counted (12" in visitor.get(lot).text.lower()
    give = visitor.get(f"{lot}/give?amount.grams=5")
    assert "that leaves some, not counted, 7" in give.text
    given = visitor.send_fields(give, f"{lot}/give", {"amount.grams": 5})
    assert given.status == 200
    assert "5" in given.text
    assert "not counted, given away" in given.text
    passport = given.soup.select_one('a[href*="passport"]')
    assert passport is not None
    assert visitor.client.get(str(passport["href"])).json()["given_seeds"] is None
    refused = visitor.send_fields(visitor.get(f"{lot}/give"), f"{lot}/give", {"amount.grams": 8})
    assert refused.status == 409
    assert "can’t be taken" in refused.text.replace("'", "’")
