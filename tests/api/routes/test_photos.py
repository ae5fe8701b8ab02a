"""/lots/{code}/photo: a photograph put, shown and taken away."""

import base64

from tests.api.conftest import Hand
from tests.use_cases.lots.photographed import picture


def test_a_photograph_is_put_shown_and_taken_away(hand: Hand) -> None:
    code = hand.lot()
    address = f"/lots/{code}/photo"
    sent = {"picture": base64.b64encode(picture((2000, 1000))).decode()}
    assert hand.get(address).status_code == 404
    assert hand.put(address, sent, if_match=None).status_code == 428
    put = hand.put(address, sent, if_match=hand.get(f"/lots/{code}").headers["ETag"])
    assert put.status_code == 200
    shown = hand.get(address)
    assert shown.json() == put.json()
    assert len(base64.b64decode(shown.json()["picture"])) <= 200_000
    assert hand.put(address, {"picture": "bm90"}, if_match="*").json()["code"] == "photo-misread"
    assert hand.put(address, {"picture": "%"}, if_match="*").json()["code"] == "photo-misread"
    assert hand.get(address).json() == put.json()
    assert hand.put(address, {"picture": sent["picture"]}, if_match='"1"').status_code == 200
    assert hand.delete(address, if_match='"1"').status_code == 412
    assert hand.delete(address, if_match=put.headers["ETag"]).status_code == 204
    assert hand.delete(address, if_match="*").status_code == 404
