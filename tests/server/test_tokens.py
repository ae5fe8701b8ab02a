"""Tokens: who comes in, what they may do, how soon they are out, and that no secret is kept."""

import logging

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlmodel import SQLModel, select

from seedbank.stock.access_tokens import Rights
from tests.server.conftest import THERE, VARIETY, bearer, client_of, service, token

PAGE = {"Accept": "text/html"}


@pytest.mark.parametrize(
    ("method", "address"),
    [("GET", "/kinds"), ("GET", "/settings"), ("POST", "/varieties"), ("GET", "/openapi.json"),
     ("GET", "/docs"), ("GET", "/nowhere"), ("POST", "/settings"), ("GET", "/audit-trail")],
)  # fmt: skip
def test_nobody_comes_in_without_a_token(there: TestClient, method: str, address: str) -> None:
    answer = there.request(method, address)
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"].startswith("Bearer")
    assert answer.headers["content-type"] == "application/problem+json"


def test_this_machine_needs_no_token_unless_the_settings_ask(
    here: TestClient, database_url: str
) -> None:
    assert here.get("/kinds").status_code == 200
    behind_a_proxy = service(database_url, require_tokens=True)
    assert client_of(behind_a_proxy, "http://127.0.0.1").get("/kinds").status_code == 401


MAY = {
    Rights.READER: {"read": 200, "change": 403, "trail": 403},
    Rights.KEEPER: {"read": 200, "change": 201, "trail": 403},
    Rights.OWNER: {"read": 200, "change": 201, "trail": 200},
}


@pytest.mark.parametrize("rights", Rights)
def test_each_may_do_what_their_rights_allow(
    shared: FastAPI, there: TestClient, rights: Rights
) -> None:
    shown = bearer(token(shared, "bench phone", rights))
    done = {
        "read": there.get("/varieties", headers=shown).status_code,
        "change": there.post("/varieties", json=VARIETY, headers=shown).status_code,
        "trail": there.get("/audit-trail", headers=shown).status_code,
    }
    assert done == MAY[rights]
    kept = there.get("/varieties", headers=shown).json()["items"]
    assert len(kept) == (1 if MAY[rights]["change"] == 201 else 0)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda shown: shown[:-1],
        lambda shown: shown + "x",
        lambda shown: "2" + shown[1:],
        lambda shown: "-" + shown.partition("-")[2],
        lambda _: "1-",
        lambda _: "9" * 40 + "-x",
        lambda _: "１-x",
        lambda shown: shown.upper(),
    ],
)
def test_a_token_that_is_nearly_right_is_wrong(
    shared: FastAPI, there: TestClient, spoil: object
) -> None:
    shown = token(shared, "bench phone", Rights.OWNER)
    wrong = spoil(shown)  # type: ignore[operator]  # one of the lambdas above
    headers = {"Authorization": b"Bearer " + wrong.encode()}
    assert there.get("/kinds", headers=headers).status_code == 401


def test_a_revoked_token_is_out_at_once(shared: FastAPI, there: TestClient) -> None:
    owner = token(shared, "owner", Rights.OWNER)
    phone = token(shared, "lost phone", Rights.KEEPER)
    assert there.get("/kinds", headers=bearer(phone)).status_code == 200
    revoked = there.post("/access-tokens/2/revoke", headers=bearer(owner))
    assert revoked.json()["revoked_at"] is not None
    assert there.get("/kinds", headers=bearer(phone)).status_code == 401
    again = there.post("/access-tokens/2/revoke", headers=bearer(owner, "another-key"))
    assert again.json()["revoked_at"] == revoked.json()["revoked_at"]
    absent = there.post("/access-tokens/9/revoke", headers=bearer(owner, "third-key"))
    assert absent.status_code == 404


def test_a_browser_is_asked_for_its_token_and_goes_on_where_it_was_going(
    shared: FastAPI, there: TestClient
) -> None:
    asked = there.get("/settings?from=label", headers=PAGE)
    assert asked.status_code == 303
    assert asked.headers["location"] == "/enter?next=%2Fsettings%3Ffrom%3Dlabel"
    shown = token(shared, "bench phone", Rights.READER)
    wrong = there.post("/enter", data={"token": shown[:-1], "next": "/settings"})
    assert wrong.status_code == 422
    assert "set-cookie" not in wrong.headers
    right = there.post("/enter", data={"token": shown, "next": "/settings?from=label"})
    assert (right.status_code, right.headers["location"]) == (303, "/settings?from=label")
    cookie = right.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "samesite=lax" in cookie.lower()
    assert there.get("/settings", headers=PAGE).status_code == 200
    left = there.post("/leave")
    assert "Max-Age=0" in left.headers["set-cookie"]
    assert there.get("/settings", headers=PAGE).status_code == 303


@pytest.mark.parametrize(
    "onward", ["//evil.example", "https://evil.example", "/\\evil.example", "x"]
)
def test_entering_never_leads_away(shared: FastAPI, there: TestClient, onward: str) -> None:
    shown = token(shared, "bench phone", Rights.READER)
    answer = there.post("/enter", data={"token": shown, "next": onward})
    assert answer.headers["location"] == "/"


@pytest.mark.parametrize("by", ["header", "page"])
def test_guessing_is_stopped_after_ten_tries(shared: FastAPI, there: TestClient, by: str) -> None:
    good = token(shared, "owner", Rights.OWNER)
    for _ in range(10):
        if by == "header":
            assert there.get("/kinds", headers=bearer("1-wrong")).status_code == 401
        else:
            assert there.post("/enter", data={"token": "1-wrong"}).status_code == 422
    stopped = there.get("/kinds", headers=bearer(good))
    assert (stopped.status_code, stopped.headers["retry-after"]) == (429, "60")


def test_a_holder_who_asks_too_often_waits_and_others_do_not(database_url: str) -> None:
    app = service(
        database_url, host="0.0.0.0", allowed_hosts=("seeds.example",), requests_a_minute=5
    )
    busy, calm = token(app, "busy", Rights.READER), token(app, "calm", Rights.READER)
    client = client_of(app, THERE)
    answers = [client.get("/problems/conflict", headers=bearer(busy)) for _ in range(8)]
    assert [answer.status_code for answer in answers] == [200] * 5 + [429] * 3
    assert client.get("/problems/conflict", headers=bearer(calm)).status_code == 200


def test_the_calendar_feed_alone_takes_its_token_in_the_address(
    shared: FastAPI, there: TestClient
) -> None:
    shown = token(shared, "calendar", Rights.READER)
    assert there.get(f"/kinds?token={shown}").status_code == 401
    assert there.get(f"/dates.ics?token={shown}").status_code != 401


def test_no_secret_is_kept_or_logged(
    shared: FastAPI, there: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.DEBUG):
        shown = token(shared, "owner", Rights.OWNER)
        secret = shown.partition("-")[2]
        there.get("/kinds", headers=bearer(shown))
        there.get("/kinds", headers=bearer(shown[:-1]))
        there.post("/enter", data={"token": shown})
        there.get("/audit-trail", headers=bearer(shown))
        there.post("/access-tokens/1/revoke", headers=bearer(shown))
    assert secret[:-1] not in caplog.text
    with shared.state.wiring.reading() as session:
        kept = [
            row
            for table in SQLModel.metadata.sorted_tables
            for row in session.execute(select(table))
        ]
    assert kept
    assert not any(secret in str(value) for row in kept for value in row)


def test_what_was_changed_is_entered_under_the_holders_name(
    shared: FastAPI, there: TestClient
) -> None:
    owner = token(shared, "owner", Rights.OWNER)
    phone = token(shared, "bench phone", Rights.KEEPER)
    made = there.post("/varieties", json=VARIETY, headers=bearer(phone))
    there.post("/varieties", json=VARIETY, headers=bearer(phone))  # a repeat does nothing
    there.post("/varieties", json={"kind": "nonsense"}, headers=bearer(phone, "k2"))
    there.patch(
        made.headers["location"], json={"notes": "late"}, headers={**bearer(phone), "If-Match": "*"}
    )
    entries = there.get("/audit-trail", headers=bearer(owner)).json()["items"]
    told = [(e["who"], e["asked"], e["row_count"]) for e in entries]
    assert told == [
        ("bench phone", f"PATCH {made.headers['location']}", 1),
        ("bench phone", "POST /varieties", 1),
    ]
    assert entries[0]["touched"][0]["values"]["notes"] == ["", "late"]
    assert entries[1]["touched"] == [
        {"table": "variety", "key": [1], "change": "new", "values": {}}
    ]


def test_the_trail_comes_in_pages_latest_first(shared: FastAPI, there: TestClient) -> None:
    owner = token(shared, "owner", Rights.OWNER)
    for number in range(5):
        body = {"kind": "carrot", "name": f"Invented {number}"}
        there.post("/varieties", json=body, headers=bearer(owner, str(number)))
    page = there.get("/audit-trail?limit=3", headers=bearer(owner)).json()
    rest = there.get(page["next"], headers=bearer(owner)).json()
    assert [e["id"] for e in page["items"] + rest["items"]] == [5, 4, 3, 2, 1]
    assert rest["next"] is None
