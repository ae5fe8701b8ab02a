"""The last changes of stock over the whole collection, and undoing them."""

from tests.pages.conftest import Visitor
from tests.pages.lot_pages import seeds_left, undo


def test_the_last_change_comes_first_and_is_undone_from_the_list(visitor: Visitor) -> None:
    visitor.send(visitor.get("/lot/26YPM/give"), "/lot/26YPM/give", amount__seeds=30)
    first = visitor.get("/changes").soup.select("ul.sheets > li")[0]
    assert "30 seeds given away" in first.text
    undo(visitor, first.select("form")[0])
    assert seeds_left(visitor, "26YPM") == 460
    undoing, undone = visitor.get("/changes").soup.select("ul.sheets > li")[:2]
    assert "It undoes another change itself" in undoing.text
    assert "It is undone already" in undone.text
    assert undone.select("form") == []


def test_a_sowings_seed_comes_back_with_the_whole_sowing(visitor: Visitor) -> None:
    given = {"lot": "26YPM", "method": "row", "seeds_sown": 100}
    sown = visitor.client.post("/sowings", json=given, headers={"Idempotency-Key": "a-sowing-1"})
    number = sown.json()["id"]
    first = visitor.get("/changes").soup.select("ul.sheets > li")[0]
    assert f"Sowing {number} is taken back" in first.text
    back = undo(visitor, first.select("form")[0])
    assert "100 seeds put back" in back.text
    assert seeds_left(visitor, "26YPM") == 460
    assert visitor.client.get(f"/sowings/{number}").status_code == 404


def test_what_changed_since_it_was_shown_is_not_undone_unseen(visitor: Visitor) -> None:
    given = {"lot": "26YPM", "method": "row", "seeds_sown": 100}
    sown = visitor.client.post("/sowings", json=given, headers={"Idempotency-Key": "a-sowing-1"})
    form = visitor.get("/changes").soup.select("ul.sheets > li")[0].select("form")[0]
    visitor.client.post(
        f"/sowings/{sown.json()['id']}/emergence",
        json={"units_emerged": 40, "confirmed": True},
        headers={"Idempotency-Key": "a-count-of-1"},
    )
    refused = undo(visitor, form)
    assert refused.status == 412
    assert "Not undone" in refused.text
    assert seeds_left(visitor, "26YPM") == 360


def test_undoing_twice_is_told_and_done_once(visitor: Visitor) -> None:
    visitor.send(visitor.get("/lot/26YPM/give"), "/lot/26YPM/give", amount__seeds=30)
    forms = [
        visitor.get("/changes").soup.select("ul.sheets > li")[0].select("form")[0] for _ in range(2)
    ]
    undo(visitor, forms[0])
    undo(visitor, forms[0])  # the same key: a page sent again
    refused = undo(visitor, forms[1])
    assert refused.status == 409
    assert "undone already" in refused.text
    assert seeds_left(visitor, "26YPM") == 460


def test_the_list_goes_on_to_the_first_change_ever(visitor: Visitor) -> None:
    page, seen = visitor.get("/changes"), 0
    while True:
        seen += len(page.soup.select("ul.sheets > li"))
        more = page.soup.select("main > p > a.key")
        if not more:
            break
        page = visitor.get(str(more[0]["href"]))
    assert seen > 300
    one = visitor.get("/lot/26YPM/changes")
    assert "460 seeds" in one.text
    assert visitor.get("/changes?after=nonsense").status == 422
