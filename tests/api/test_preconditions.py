"""ETag, If-Match and If-None-Match (RFC 9110 section 13; 428 of RFC 6585)."""

import pytest

from seedbank.web.api.preconditions import expected_versions, matches_none
from seedbank.web.api.problem_types import BadHeader
from tests.api.conftest import Hand


def test_changing_without_a_version_is_answered_428(hand: Hand) -> None:
    number = hand.variety()
    before = hand.dump()
    response = hand.patch(f"/varieties/{number}", {"name": "Other"}, if_match=None)
    assert response.status_code == 428
    assert response.json()["type"] == "/problems/version-required"
    assert hand.dump() == before


def test_a_stale_version_is_answered_412_and_changes_nothing(hand: Hand) -> None:
    number = hand.variety()
    etag = hand.get(f"/varieties/{number}").headers["ETag"]
    assert hand.patch(f"/varieties/{number}", {"name": "B"}, if_match=etag).status_code == 200
    before = hand.dump()
    response = hand.patch(f"/varieties/{number}", {"name": "C"}, if_match=etag)
    assert response.status_code == 412
    assert "version 2" in response.json()["detail"]
    assert hand.delete(f"/varieties/{number}", if_match=etag).status_code == 412
    assert hand.dump() == before


@pytest.mark.parametrize("tag", ['"1"', "*", '"7", "1"', '"1-0123456789abcdef"'])
def test_a_tag_of_the_current_version_lets_a_change_through(hand: Hand, tag: str) -> None:
    number = hand.variety()
    response = hand.patch(f"/varieties/{number}", {"name": "B"}, if_match=tag)
    assert response.status_code == 200
    assert response.json()["version"] == 2


@pytest.mark.parametrize("tag", ['W/"1"', '"one"', '"11"', '"1x"'])
def test_a_weak_or_foreign_tag_matches_nothing(hand: Hand, tag: str) -> None:
    number = hand.variety()
    response = hand.patch(f"/varieties/{number}", {"name": "B"}, if_match=tag)
    assert response.status_code == 412


@pytest.mark.parametrize("tag", ["1", '"1', "'1'", '"1" "2"'])
def test_a_tag_that_cannot_be_read_is_said_so(hand: Hand, tag: str) -> None:
    number = hand.variety()
    response = hand.patch(f"/varieties/{number}", {"name": "B"}, if_match=tag)
    assert response.status_code == 400
    assert response.json()["type"] == "/problems/bad-header"


def test_a_tag_list_gives_every_strong_version() -> None:
    assert expected_versions('"3-ab", W/"4", "5"') == {3, 5}
    assert expected_versions("*") is None
    with pytest.raises(BadHeader):
        expected_versions('"3" or "4"')


def test_a_body_the_client_has_is_not_sent_again(hand: Hand) -> None:
    code = hand.lot()
    first = hand.get(f"/lots/{code}")
    again = hand.get(f"/lots/{code}", If_None_Match=first.headers["ETag"])
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["ETag"] == first.headers["ETag"]


def test_a_lot_whose_seed_moved_is_sent_again_though_nobody_edited_it(hand: Hand) -> None:
    code = hand.lot()
    first = hand.get(f"/lots/{code}")
    hand.made(f"/lots/{code}/movements", {"reason": "given", "amount": {"seeds": 5}})
    again = hand.get(f"/lots/{code}", If_None_Match=first.headers["ETag"])
    assert again.status_code == 200
    assert again.json()["amount"]["seeds"] == 245


def test_seed_sown_meanwhile_stops_nobody_from_correcting_a_note(hand: Hand) -> None:
    code = hand.lot()
    etag = hand.get(f"/lots/{code}").headers["ETag"]
    hand.made(f"/lots/{code}/movements", {"reason": "given", "amount": {"seeds": 5}})
    assert hand.patch(f"/lots/{code}", {"notes": "x"}, if_match=etag).status_code == 200


def test_if_none_match_compares_weakly() -> None:
    assert matches_none('W/"1-ab"', '"1-ab"')
    assert matches_none("*", '"1-ab"')
    assert not matches_none('"1-cd"', '"1-ab"')
    assert not matches_none(None, '"1-ab"')
