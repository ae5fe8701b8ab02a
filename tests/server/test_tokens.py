"""Tokens: who comes in, what they may do, how soon they are out, and that no secret is kept."""

import logging

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlmodel import SQLModel, select
from starlette.requests import Request

from seedbank.access.tables import Rights
from seedbank.access.tokens_and_trail import revoke_token
from seedbank.server.token_guard import TokensAsked
from tests.server.conftest import NOW, THERE, VARIETY, bearer, client_of, service, token

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


def test_anybody_may_ask_how_the_service_is(there: TestClient) -> None:
    answer = there.get("/health")
    assert (answer.status_code, answer.json()["status"]) == (200, "ok")
    assert there.get("/health/more").status_code == 401


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


def guess(client: TestClient, by: str) -> tuple[int, str | None]:
    if by == "header":
        answer = client.get("/kinds", headers=bearer("1-wrong"))
    elif by == "feed":
        answer = client.get("/dates.ics?token=1-wrong")
    else:
        answer = client.post("/enter", data={"token": "1-wrong"})
    return answer.status_code, answer.headers.get("retry-after")


WRONG = {"header": 401, "feed": 401, "page": 422}


@pytest.mark.parametrize("by", WRONG)
def test_guessing_is_stopped_after_ten_tries(shared: FastAPI, there: TestClient, by: str) -> None:
    token(shared, "owner", Rights.OWNER)
    assert [guess(there, by) for _ in range(10)] == [(WRONG[by], None)] * 10
    for other in WRONG:  # one limit, however they are shown
        status, seconds = guess(there, other)
        assert status == 429
        assert 30 <= int(seconds or 0) <= 60  # of a minute, less what a busy machine took


@pytest.mark.parametrize("by", WRONG)
def test_a_right_token_gets_in_whatever_was_guessed_from_the_same_address(
    shared: FastAPI, there: TestClient, by: str
) -> None:
    good = token(shared, "owner", Rights.OWNER)
    for _ in range(30):
        guess(there, by)
    assert there.get("/kinds", headers=bearer(good)).status_code == 200
    entered = there.post("/enter", data={"token": good, "next": "/settings"})
    assert (entered.status_code, entered.headers["location"]) == (303, "/settings")
    assert there.get("/settings", headers=PAGE).status_code == 200
    assert there.get("/enter", headers=PAGE).status_code == 200
    there.cookies.clear()
    assert guess(there, by)[0] == 429  # its coming in forgives no guesses


def test_files_and_the_token_form_are_never_refused(there: TestClient) -> None:
    for _ in range(30):
        guess(there, "header")
    assert there.get("/static/bench.css").status_code == 200
    assert there.get("/enter", headers=PAGE).status_code == 200
    assert there.post("/leave").status_code == 303
    asked = there.get("/settings", headers=PAGE)  # no token is no guess
    assert (asked.status_code, asked.headers["location"]) == (303, "/enter?next=%2Fsettings")


def test_right_tokens_typed_in_are_not_counted(shared: FastAPI, there: TestClient) -> None:
    good = token(shared, "family", Rights.READER)
    entered = [there.post("/enter", data={"token": good}).status_code for _ in range(30)]
    assert entered == [303] * 30
    there.cookies.clear()
    assert guess(there, "page") == (422, None)


def test_a_refused_guess_is_told_as_its_sender_reads(there: TestClient) -> None:
    for _ in range(10):
        guess(there, "page")
    page = there.post("/enter", data={"token": "1-wrong"}, headers=PAGE)
    assert (page.status_code, page.headers["retry-after"]) == (429, "60")
    assert "a right one is let in at once" in page.text
    told = there.get("/kinds", headers=bearer("1-wrong")).json()
    assert told["status"] == 429
    assert "1-wrong" not in str(told)


def test_a_cookie_of_a_revoked_token_is_forgotten_and_not_counted_again(
    shared: FastAPI, there: TestClient
) -> None:
    phone = token(shared, "lost phone", Rights.KEEPER)
    there.post("/enter", data={"token": phone})
    with shared.state.wiring.writing() as session:
        revoke_token(session, 1, now=NOW)
    first = there.get("/settings", headers=PAGE)
    assert (first.status_code, first.headers["location"]) == (303, "/enter")
    again = [there.get("/settings", headers=PAGE) for _ in range(20)]
    assert {answer.headers["location"] for answer in again} == {"/enter?next=%2Fsettings"}


def from_address(app: FastAPI, address: str) -> TestClient:
    return client_of(app, THERE, client=(address, 50_000))


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        ("192.0.2.7", "192.0.2.8", False),
        ("2001:db8:1:2::7", "2001:db8:1:2:ffff::9", True),  # one site's 64 bits
        ("2001:db8:1:2::7", "2001:db8:1:3::7", False),
        ("::ffff:192.0.2.7", "192.0.2.7", True),  # IPv4 on a socket for both
        ("::ffff:192.0.2.7", "::ffff:192.0.2.8", False),
        ("fe80::1%eth0", "fe80::2", True),
    ],
)
def test_guesses_are_counted_by_the_network_they_come_from(
    shared: FastAPI, one: str, other: str, alike: bool
) -> None:
    for _ in range(10):
        guess(from_address(shared, one), "header")
    status, _ = guess(from_address(shared, other), "header")
    assert status == (429 if alike else 401)


def test_guesses_from_ever_new_addresses_fill_no_memory() -> None:
    guard = TokensAsked(FastAPI(), who_holds=lambda _: None, requests_a_minute=10)
    for number in range(20_000):
        address = (f"10.{number >> 16}.{number >> 8 & 255}.{number & 255}", 1)
        scope = {"type": "http", "method": "GET", "path": "/", "client": address, "headers": []}
        guard._guessing(Request(scope))
    # Two for each of 4,096 counters, this minute's and the last one's; by address it was 20,000.
    assert len(guard._limiter.storage.storage) <= 2 * 4096


@pytest.mark.parametrize("says_its_size", [True, False])
def test_who_has_no_token_can_not_send_much(there: TestClient, says_its_size: bool) -> None:
    long = b"token=" + b"x" * 20_000
    answer = there.post(
        "/enter",
        content=long if says_its_size else iter([long[:9_000], long[9_000:]]),
        headers={"Content-Type": "application/x-www-form-urlencoded"},
    )
    assert answer.status_code == 413


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
