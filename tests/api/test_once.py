"""A request sent twice, as a phone on a bad signal does, is carried out once."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.api.conftest import Hand


def test_a_repeated_post_books_nothing_twice_and_gets_the_same_answer(hand: Hand) -> None:
    code = hand.lot(250)
    body = {"reason": "given", "amount": {"seeds": 30}}
    first = hand.post(f"/lots/{code}/movements", body, key="phone-1")
    before = hand.dump()
    again = hand.post(f"/lots/{code}/movements", body, key="phone-1")
    assert hand.dump() == before
    assert hand.balance(code) == 220
    assert (again.status_code, again.content) == (201, first.content)
    assert again.headers["Location"] == first.headers["Location"]
    assert again.headers["Idempotent-Replay"] == "true"
    assert "Idempotent-Replay" not in first.headers


def test_a_replay_keeps_its_etag(hand: Hand) -> None:
    body = {"kind": "carrot", "name": "Twice"}
    first = hand.post("/varieties", body, key="v")
    assert hand.post("/varieties", body, key="v").headers["ETag"] == first.headers["ETag"]


def test_spacing_and_order_of_the_json_do_not_make_another_request(hand: Hand) -> None:
    headers = {"Idempotency-Key": "k", "Content-Type": "application/json"}
    first = hand.client.post("/varieties", content='{"kind":"carrot","name":"A"}', headers=headers)
    again = hand.client.post(
        "/varieties", content='{ "name": "A", "kind": "carrot" }', headers=headers
    )
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.headers["Idempotent-Replay"] == "true"


def test_a_key_used_for_another_request_is_refused(hand: Hand) -> None:
    hand.post("/varieties", {"kind": "carrot", "name": "A"}, key="k")
    before = hand.dump()
    other_body = hand.post("/varieties", {"kind": "carrot", "name": "B"}, key="k")
    other_path = hand.post("/places", {"name": "A"}, key="k")
    for response in (other_body, other_path):
        assert response.status_code == 422
        assert response.json()["type"] == "/problems/key-reused"
    assert hand.dump() == before


def test_a_refused_request_leaves_its_key_free(hand: Hand) -> None:
    code = hand.lot(10)
    too_much = {"reason": "given", "amount": {"seeds": 30}}
    before = hand.dump()
    assert hand.post(f"/lots/{code}/movements", too_much, key="k").status_code == 409
    assert hand.dump() == before
    fitting = {"reason": "given", "amount": {"seeds": 3}}
    assert hand.post(f"/lots/{code}/movements", fitting, key="k").status_code == 201


@pytest.mark.parametrize("key", ["", "x" * 256, "tab\there"])
def test_a_key_out_of_shape_is_refused(hand: Hand, key: str) -> None:
    response = hand.client.post("/places", json={"name": "Shed"}, headers={"Idempotency-Key": key})
    assert response.status_code == 400
    assert response.json()["type"] == "/problems/bad-header"


def test_copies_of_one_request_racing_each_other_book_it_once(hand: Hand) -> None:
    code = hand.lot(250)
    body = {"reason": "given", "amount": {"seeds": 30}}
    with ThreadPoolExecutor(8) as pool:
        answers = list(
            pool.map(lambda _: hand.post(f"/lots/{code}/movements", body, key="race"), range(8))
        )
    assert hand.balance(code) == 220
    assert {answer.status_code for answer in answers} == {201}
    assert len({answer.content for answer in answers}) == 1
    assert sum("Idempotent-Replay" not in answer.headers for answer in answers) == 1


def test_different_requests_racing_for_the_last_seed_never_overdraw_it(hand: Hand) -> None:
    code = hand.lot(100)
    body = {"reason": "given", "amount": {"seeds": 30}}
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda _: hand.post(f"/lots/{code}/movements", body), range(8)))
    assert sorted(answer.status_code for answer in answers) == [201] * 3 + [409] * 5
    assert hand.balance(code) == 10
