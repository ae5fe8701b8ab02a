"""Who changed what, as its owner reads it."""

from seedbank.access.tables import Rights
from seedbank.access.tokens_and_trail import make_token
from tests.pages.conftest import NOW, Visitor


def test_a_change_is_told_with_what_it_touched(visitor: Visitor) -> None:
    assert "Nothing was changed yet" in visitor.get("/trail").text
    page = visitor.get("/lot/YMY4K/change")
    visitor.send(page, "/lot/YMY4K/change", notes="<b>late</b>")
    told = visitor.get("/trail")
    assert "this machine" in told.text
    assert "POST /lot/YMY4K/change" in told.text
    assert "→ <b>late</b>" in told.text
    assert told.soup.select("main b") == []


def test_a_token_is_revoked_on_the_page(visitor: Visitor) -> None:
    with visitor.app.state.wiring.writing() as session:
        made = make_token(session, "lost <i>phone</i>", Rights.KEEPER, now=NOW)
    page = visitor.get("/trail")
    assert "lost <i>phone</i>" in page.text
    assert made.shown not in page.text
    after = visitor.send(page, f"/trail/token/{made.token.id}/revoke")
    assert "Let in no longer since" in after.text
    assert after.soup.select('form[action*="revoke"]') == []


def test_the_trail_goes_on_in_pages(visitor: Visitor) -> None:
    for number in range(32):
        page = visitor.get("/lot/YMY4K/change")
        visitor.send(page, "/lot/YMY4K/change", notes=f"note {number}")
    first = visitor.get("/trail")
    [more] = [link["href"] for link in first.soup.select("a.key") if "Earlier" in link.text]
    rest = visitor.get(str(more))
    assert (first.text.count("POST /lot"), rest.text.count("POST /lot")) == (30, 2)
