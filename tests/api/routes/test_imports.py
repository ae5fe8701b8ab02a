"""Somebody's own spreadsheet over HTTP: previewed, confirmed by its digest, booked once."""

from base64 import b64encode
from typing import Any

from tests.api.conftest import Hand

LIST = "Crop,Variety,How many,Year\ncarrot,Purple Lantern,approx 50,2019?\npea,Low,3 g,'19\n"


def previewed(hand: Hand, body: dict[str, Any]) -> dict[str, Any]:
    response = hand.post("/imports/preview", body)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.json()
    return answer


def test_a_preview_shows_every_row_and_books_nothing(hand: Hand) -> None:
    before = hand.dump()
    shown = previewed(hand, {"text": LIST})
    assert (shown["lots"], shown["in_the_way"], shown["questions"]) == (2, 0, [])
    assert shown["rows"][0]["seeds"] == 50
    assert shown["rows"][0]["seeds_se"] == 10
    assert shown["rows"][0]["cells"][2] == {
        "heading": "How many",
        "text": "approx 50",
        "said": "counted, by estimate: 50 seeds, give or take 10",
        "sure": "estimated",
    }
    assert hand.dump() == before


def test_what_was_previewed_is_taken_in_once_by_key_and_once_by_list(hand: Hand) -> None:
    body = {"text": LIST}
    body["digest"] = previewed(hand, body)["digest"]
    first = hand.post("/imports", body, key="list-1")
    assert first.status_code == 201
    lots = first.json()["lots"]
    assert [one["line"] for one in lots] == [2, 3]
    assert first.headers["Location"] == f"/lots/{lots[0]['code']}"
    again = hand.post("/imports", body, key="list-1")
    assert again.headers["Idempotent-Replay"] == "true"
    assert again.json() == first.json()
    other = hand.post("/imports", body, key="list-2")
    assert other.status_code == 200
    assert other.json() == {"lots": [], "before": lots, "left_out": []}
    assert len(hand.get("/lots").json()["items"]) == 2


def test_another_digest_is_a_conflict_and_changes_nothing(hand: Hand) -> None:
    before = hand.dump()
    response = hand.post("/imports", {"text": LIST, "digest": "0" * 64})
    assert response.status_code == 409
    assert response.json()["errors"][0]["field"] == "digest"
    assert hand.dump() == before


def test_a_bad_file_is_a_problem_that_names_the_line(hand: Hand) -> None:
    content = b64encode(b"Crop,Variety\ncarrot,Du\0sk\n").decode()
    response = hand.post("/imports/preview", {"name": "mine.csv", "base64": content})
    assert response.status_code == 422
    assert "mine.csv line 2: a NUL stands here" in response.json()["detail"]
    for body in ({}, {"text": LIST, "base64": content}, {"base64": "not base64"}):
        assert hand.post("/imports/preview", body).status_code == 422
    lone = hand.client.post(
        "/imports/preview",
        content=b'{"text": "a,b\\n\\ud800,c"}',
        headers={"Idempotency-Key": "k", "Content-Type": "application/json"},
    )
    assert lone.status_code in (400, 422)
