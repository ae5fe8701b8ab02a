"""Every way a request can fail is told as a problem (RFC 9457) that names field, value and mend."""

import json
import logging
from collections.abc import Callable
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy.exc import OperationalError

import seedbank.common.errors as service_errors
import seedbank.common.errors as stock_errors
from seedbank.common.errors import Busy, StillAnswering
from seedbank.common.safe_text import shown
from seedbank.lots.tables.lot_codes import code_for
from seedbank.server.api import create_app
from seedbank.settings import Settings
from seedbank.web.api.problem_types import PROBLEM_TYPES, TABLE, problem_type
from tests.api.conftest import Hand

Asking = Callable[[Hand], Any]


def _overdraw(hand: Hand) -> Any:
    code = hand.lot(10)
    return hand.post(f"/lots/{code}/movements", {"reason": "given", "amount": {"seeds": 11}})


def _twice_the_same_name(hand: Hand) -> Any:
    hand.variety(name="A")
    return hand.post("/varieties", {"kind": "carrot", "name": "A"})


def _up_on_the_day(hand: Hand) -> Any:
    body = {"lot": hand.lot(), "seeds_sown": 60, "method": "row"}
    address = hand.post("/sowings", body).headers["Location"]
    return hand.post(f"{address}/emergence", {"units_emerged": 59})


def _stale(hand: Hand) -> Any:
    return hand.patch(f"/varieties/{hand.variety()}", {"name": "B"}, if_match='"9"')


def _unversioned(hand: Hand) -> Any:
    return hand.delete(f"/varieties/{hand.variety()}", if_match=None)


def _reused(hand: Hand) -> Any:
    hand.post("/places", {"name": "A"}, key="k")
    return hand.post("/places", {"name": "B"}, key="k")


def _locked(hand: Hand) -> Any:
    def held(_lot: object) -> None:
        raise StillAnswering("k")

    return _with_fault(hand, held)


def _crowded(hand: Hand) -> Any:
    def crowded(_lot: object) -> None:
        raise Busy

    return _with_fault(hand, crowded)


def _broken_database(hand: Hand) -> Any:
    def gone(_lot: object) -> None:
        raise OperationalError("SELECT 1", {}, Exception("disk I/O error at /secret/path"))

    return _with_fault(hand, gone)


def _broken_program(hand: Hand) -> Any:
    def bug(_lot: object) -> None:
        raise ZeroDivisionError("secret inner detail")

    return _with_fault(hand, bug)


def _with_fault(hand: Hand, fault: Callable[[object], None]) -> Any:
    hand.app.add_api_route("/faulty", lambda: fault(None))
    return hand.get("/faulty")


REACHED: dict[str, tuple[Asking, int, str]] = {
    "not-there": (lambda hand: hand.get("/varieties/999"), 404, "id"),
    "bad-value": (lambda hand: hand.post("/places", {"name": ""}), 422, "name"),
    "doubted": (_up_on_the_day, 422, "on_date"),
    "conflict": (_twice_the_same_name, 409, "name"),
    "not-enough-seed": (_overdraw, 409, "amount.seeds"),
    "stale-version": (_stale, 412, "If-Match"),
    "version-required": (_unversioned, 428, "If-Match"),
    "key-required": (
        lambda hand: hand.client.post("/places", json={"name": "A"}),
        400,
        "Idempotency-Key",
    ),
    "bad-header": (
        lambda hand: hand.patch("/varieties/1", {"name": "A"}, if_match="x"),
        400,
        "If-Match",
    ),
    "key-reused": (_reused, 422, "Idempotency-Key"),
    "still-answering": (_locked, 409, "Idempotency-Key"),
    "database": (_broken_database, 503, ""),
    "busy": (_crowded, 503, ""),
    "failure": (_broken_program, 500, ""),
}


def test_every_type_of_problem_is_tried_here() -> None:
    assert set(REACHED) == {kind.slug for kind in PROBLEM_TYPES}


@pytest.mark.parametrize("slug", REACHED)
def test_a_problem_names_its_field_value_and_mend(hand: Hand, slug: str) -> None:
    asking, status, field = REACHED[slug]
    response = asking(hand)
    problem = response.json()
    assert response.status_code == status
    assert response.headers["Content-Type"] == "application/problem+json"
    assert problem["type"] == f"/problems/{slug}"
    assert problem["status"] == status
    assert problem["instance"] == response.request.url.path
    assert problem["detail"]
    assert problem["errors"][0]["field"] == field
    assert len(problem["errors"][0]["mend"]) > 10
    explained = hand.get(problem["type"]).json()
    assert (explained["slug"], explained["title"]) == (slug, problem["title"])


def test_a_fault_of_the_program_is_logged_and_keeps_its_inside_to_itself(
    hand: Hand, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.ERROR, logger="seedbank.web.api"):
        body = _broken_program(hand).text
    assert "secret" not in body
    assert "Traceback" not in body
    assert "secret inner detail" in caplog.text


def test_a_fault_of_the_database_keeps_its_inside_to_itself(hand: Hand) -> None:
    response = _broken_database(hand)
    assert "secret" not in response.text
    assert response.headers["Retry-After"] == "2"


def test_every_fault_of_service_and_stock_has_a_place_in_the_table() -> None:
    """A new error class must be given its status on purpose, not by falling through."""
    fallbacks = {stock_errors.StockFault, service_errors.SeedbankError}
    for module in (service_errors, stock_errors):
        for name, member in vars(module).items():
            if (
                isinstance(member, type)
                and issubclass(member, stock_errors.StockFault)
                and member not in fallbacks
            ):
                assert member in TABLE, name


def test_the_nearest_class_decides() -> None:
    assert problem_type(service_errors.NotEnoughSeed("A", 2, 1)).slug == "not-enough-seed"
    assert problem_type(service_errors.Conflict("x", mend="y")).slug == "conflict"
    assert problem_type(ValueError("x")).slug == "failure"


def test_an_unknown_address_and_a_wrong_method_are_problems_too(hand: Hand) -> None:
    nowhere = hand.get("/nowhere")
    assert nowhere.status_code == 404
    assert nowhere.headers["Content-Type"] == "application/problem+json"
    wrong = hand.client.put("/varieties", json={})
    assert wrong.status_code == 405
    assert set(wrong.headers["Allow"].replace(" ", "").split(",")) <= {"GET", "POST"}
    assert wrong.json()["errors"][0]["mend"]


BAD_BODIES = [
    ('{"kind":"carrot"}', "name", "This has to be given"),
    ('{"kind":"carrot","name":"A","plants":1}', "plants", "no such field"),
    ('{"kind":"carrot","name":"A","plants_wanted":-1}', "plants_wanted", "0 or more"),
    ('{"kind":"carrot","name":"A","plants_wanted":1e99}', "plants_wanted", ""),
    ('{"kind":"carrot","name":"A","plants_wanted":true}', "plants_wanted", "whole number"),
    ('{"kind":"carrot","name":"A","plants_wanted":"3"}', "plants_wanted", "whole number"),
    ('{"kind":"carrot","name":"A","plants_wanted":2.5}', "plants_wanted", "whole number"),
    ('{"kind":"carrot","name":"A","plants_wanted":NaN}', "plants_wanted", "whole number"),
    ('{"kind":"carrot","name":"A","breeding":"wild"}', "breeding", "landrace"),
    ('{"kind":"carrot","name":"\\ud800"}', "name", "Unicode"),
    ('{"kind":"carrot","name":"a\\u0000b"}', "name", "control characters"),
    ('{"kind":"carrot","name":"a\\nb"}', "name", "one line"),
    ('{"kind":"carrot","name":"   "}', "name", "at least 1"),
    ('{"kind":"Carrots of mine","name":"A"}', "kind", "of the list"),
    ("{", "", "JSON"),
    ("[1]", "", ""),
    ("", "", ""),
]


@pytest.mark.parametrize(("body", "field", "mend"), BAD_BODIES)
def test_a_bad_body_is_answered_in_plain_words_and_changes_nothing(
    hand: Hand, body: str, field: str, mend: str
) -> None:
    before = hand.dump()
    response = hand.client.post(
        "/varieties",
        content=body,
        headers={"Idempotency-Key": "k", "Content-Type": "application/json"},
    )
    assert response.status_code == 422
    fault = response.json()["errors"][0]
    assert fault["field"] == field
    assert mend in fault["mend"]
    assert hand.dump() == before


@pytest.mark.parametrize("weight", ["NaN", "Infinity", "-Infinity", "0", "1e12"])
def test_numbers_that_are_no_weight_are_refused(hand: Hand, weight: str) -> None:
    code = hand.lot()
    before = hand.dump()
    response = hand.client.post(
        f"/lots/{code}/movements",
        content=f'{{"reason":"given","amount":{{"grams":{weight}}}}}',
        headers={"Idempotency-Key": "k", "Content-Type": "application/json"},
    )
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == "amount.grams"
    assert hand.dump() == before


@pytest.mark.parametrize(
    "day", [20270101, "20270101", "2027-13-01", "2027-02-30", "2027-01-01T00:00:00", "1066-01-01"]
)
def test_a_day_is_written_in_iso_8601_or_refused(hand: Hand, day: object) -> None:
    code = hand.lot()
    body = {"reason": "given", "amount": {"seeds": 1}, "on_date": day}
    response = hand.post(f"/lots/{code}/movements", body)
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == "on_date"


def test_a_day_still_to_come_is_refused(hand: Hand) -> None:
    code = hand.lot()
    body = {"reason": "given", "amount": {"seeds": 1}, "on_date": "2027-03-02"}
    response = hand.post(f"/lots/{code}/movements", body)
    assert response.status_code == 422
    assert "2027-03-01" in response.json()["errors"][0]["mend"]


@pytest.mark.parametrize("number", ["0", "-1", "x", "99999999999999999999", "1.5"])
def test_a_number_in_the_address_that_is_none_is_refused(hand: Hand, number: str) -> None:
    response = hand.get(f"/germination-tests/{number}")
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == "id"


def test_a_misread_lot_code_is_told_from_an_unknown_one(hand: Hand) -> None:
    code = hand.lot()
    misread = hand.get(f"/lots/{code[:-1]}{'M' if code[-1] != 'M' else 'K'}")
    assert misread.status_code == 422
    assert misread.json()["errors"][0]["field"] == "code"
    assert hand.get(f"/lots/{code_for(4711)}").status_code == 404


def test_values_shown_back_are_short_valid_json() -> None:
    assert shown(float("nan")) == "nan"
    assert shown(2**80) == str(2**80)
    assert len(shown("x" * 9000)) == 400
    assert json.dumps(shown("\ud800")) == '"?"'
    assert shown({"a": 1}) == '{"a": 1}'
    assert shown(b'{"a":1}') == '{"a":1}'
    assert (shown(None), shown(True), shown(3), shown(0.5)) == (None, True, 3, 0.5)


def test_a_database_that_cannot_be_opened_says_so_at_once(tmp_path: Any) -> None:
    with pytest.raises(stock_errors.BadDatabase):
        create_app(Settings(database_url=f"sqlite:///{tmp_path}"))


def test_problems_are_listed(app: FastAPI) -> None:
    with TestClient(app) as client:
        listed = client.get("/problems").json()["items"]
        assert {item["slug"] for item in listed} == set(REACHED)
        assert client.get("/problems/unheard-of").status_code == 404


@pytest.mark.parametrize(
    ("path", "body", "field"),
    [
        ("/varieties", {"kind": "unheard-of", "name": "A"}, "kind"),
        ("/lots", {"variety_id": 99, "origin": "gift"}, "variety_id"),
        ("/lots", {"variety_id": 1, "origin": "gift", "place_id": 99}, "place_id"),
        ("/lots", {"variety_id": 1, "origin": "gift", "parents": [code_for(4711)]}, "parents[0]"),
        ("/lots", {"variety_id": 1, "origin": "gift", "parents": ["00000"]}, "parents[0]"),
        ("/sowings", {"lot": code_for(4711), "seeds_sown": 1, "method": "row"}, "lot"),
        ("/germination-tests", {"lot": code_for(4711), "replicates": [5]}, "lot"),
    ],
)
def test_a_thing_named_in_a_form_that_is_not_there_is_a_bad_value(
    hand: Hand, path: str, body: dict[str, Any], field: str
) -> None:
    """404 is for what the address names; here the address is right and a field is wrong."""
    hand.variety()
    before = hand.dump()
    response = hand.post(path, body)
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == field
    assert hand.dump() == before


def test_a_body_not_sent_as_json_is_told_so(hand: Hand) -> None:
    headers = {"Idempotency-Key": "k", "Content-Type": "application/x-www-form-urlencoded"}
    answer = hand.client.post("/places", content='{"name":"Shed"}', headers=headers)
    (fault,) = answer.json()["errors"]
    assert (answer.status_code, fault["value"]) == (422, '{"name":"Shed"}')
    assert "Content-Type: application/json" in fault["mend"]


def test_a_stale_version_is_shown_as_it_was_sent(hand: Hand) -> None:
    (fault,) = _stale(hand).json()["errors"]
    assert (fault["field"], fault["value"]) == ("If-Match", '"9"')
