"""Pages: everything once, the same next page in body and Link header."""

import base64

import pytest

from tests.api.conftest import Hand


def test_following_the_pages_shows_everything_once(hand: Hand) -> None:
    wanted = {hand.lot() for _ in range(7)}
    seen: list[str] = []
    address, pages = "/lots?limit=3&origin=bought", 0
    while address:
        response = hand.get(address)
        page = response.json()
        seen += [lot["code"] for lot in page["items"]]
        link = response.headers.get("Link")
        assert link == (f'<{page["next"]}>; rel="next"' if page["next"] else None)
        address, pages = page["next"], pages + 1
    assert pages == 3
    assert len(seen) == 7
    assert set(seen) == wanted


def test_the_next_page_keeps_the_filters(hand: Hand) -> None:
    for _ in range(3):
        hand.lot()
    address = hand.get("/lots?limit=2&origin=bought&q=Invented").json()["next"]
    assert "origin=bought" in address
    assert "q=Invented" in address


def test_things_added_behind_the_cursor_shift_nothing(hand: Hand) -> None:
    hand.made("/places", {"name": "Cellar"})
    hand.made("/places", {"name": "Shed"})
    first = hand.get("/places?limit=1").json()
    hand.made("/places", {"name": "Attic"})
    rest = hand.get(first["next"]).json()
    assert [place["name"] for place in first["items"] + rest["items"]] == ["Cellar", "Shed"]


@pytest.mark.parametrize(
    "cursor",
    ["zzz", "!", "é", base64.urlsafe_b64encode(b"[1,2,3]").decode(), "W10", "bnVsbA"]
    + [base64.urlsafe_b64encode(text).decode() for text in (b'["a",1e99]', b"[[],1]", b"[1,1]")]
    + [base64.urlsafe_b64encode(b'["a",99999999999999999999]').decode()],
)
def test_a_cursor_that_is_none_of_ours_is_refused(hand: Hand, cursor: str) -> None:
    response = hand.client.get("/places", params={"cursor": cursor})
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == "cursor"


@pytest.mark.parametrize("limit", ["0", "201", "x", "-1"])
def test_a_page_holds_1_to_200_things(hand: Hand, limit: str) -> None:
    response = hand.get(f"/places?limit={limit}")
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == "limit"


@pytest.mark.parametrize(
    "path", ["/kinds", "/varieties", "/places", "/lots", "/germination-tests", "/sowings"]
)
def test_an_empty_or_short_list_has_no_next_page(hand: Hand, path: str) -> None:
    response = hand.get(f"{path}?limit=200")
    assert response.status_code == 200
    assert response.json()["next"] is None
    assert "Link" not in response.headers
