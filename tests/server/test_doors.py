"""Whose requests are heard at all: the Host asked for, the site that asks, how much is sent."""

import pytest
from fastapi.testclient import TestClient

from tests.server.conftest import HERE, VARIETY, client_of, service

PROBLEM = "application/problem+json"


@pytest.mark.parametrize(
    "host", ["127.0.0.1:8000", "localhost", "LOCALHOST:9", "[::1]:8000", "127.0.0.1"]
)
def test_this_machines_own_names_are_heard(here: TestClient, host: str) -> None:
    assert here.get("/kinds", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    ["rebound.example", "127.0.0.1.rebound.example", "rebound.example:8000", "", "[::1", "a@[b"],
)
def test_a_name_that_is_not_ours_is_refused(here: TestClient, host: str) -> None:
    answer = here.get("/kinds", headers={"Host": host})
    assert (answer.status_code, answer.headers["content-type"]) == (421, PROBLEM)
    assert answer.json()["errors"][0]["field"] == "Host"


def test_names_given_in_the_settings_are_ours_too(database_url: str) -> None:
    app = service(
        database_url, allowed_hosts=("shed.example",), base_url="https://bench.example:8443"
    )
    for host, status in (("shed.example", 200), ("bench.example:8443", 200), ("c.example", 421)):
        assert client_of(app, HERE).get("/kinds", headers={"Host": host}).status_code == status


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Sec-Fetch-Site": "cross-site", "Origin": HERE},
    ],
    ids=str,
)
@pytest.mark.parametrize("address", ["/varieties", "/settings", "/nowhere"])
def test_a_change_asked_for_by_another_sites_page_is_refused(
    here: TestClient, address: str, headers: dict[str, str]
) -> None:
    answer = here.post(address, json=VARIETY, headers={"Idempotency-Key": "k", **headers})
    assert (answer.status_code, answer.headers["content-type"]) == (403, PROBLEM)
    assert here.get("/varieties").json()["items"] == []


@pytest.mark.parametrize(
    "headers", [{}, {"Sec-Fetch-Site": "same-origin"}, {"Sec-Fetch-Site": "none"}, {"Origin": HERE}]
)
def test_a_change_of_our_own_pages_or_of_a_program_is_heard(
    here: TestClient, headers: dict[str, str]
) -> None:
    answer = here.post("/varieties", json=VARIETY, headers={"Idempotency-Key": "k", **headers})
    assert answer.status_code == 201


def test_links_from_other_sites_may_be_followed(here: TestClient) -> None:
    assert here.get("/settings", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 200


@pytest.mark.parametrize("address", ["/settings", "/kinds", "/nowhere"])
def test_every_answer_tells_the_browser_to_be_careful(here: TestClient, address: str) -> None:
    headers = here.get(address).headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "same-origin"
    policy = dict(p.split(" ", 1) for p in headers["content-security-policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["form-action"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"


def test_a_body_too_large_is_refused_and_changes_nothing(database_url: str) -> None:
    client = client_of(service(database_url, max_body_bytes=20_000), HERE)
    large = {**VARIETY, "notes": "x" * 30_000}
    answer = client.post("/varieties", json=large, headers={"Idempotency-Key": "k"})
    assert (answer.status_code, answer.headers["content-type"]) == (413, PROBLEM)
    assert client.get("/varieties").json()["items"] == []


def test_a_body_that_hides_its_size_is_cut_off(database_url: str) -> None:
    client = client_of(service(database_url, max_body_bytes=20_000), HERE)
    parts = iter([b'{"kind": "carrot", "name": "', *([b"x" * 10_000] * 5), b'"}'])
    headers = {"Idempotency-Key": "k", "Content-Type": "application/json"}
    answer = client.post("/varieties", content=parts, headers=headers)
    assert (answer.status_code, answer.headers["content-type"]) == (413, PROBLEM)
    assert client.get("/varieties").json()["items"] == []


@pytest.mark.parametrize(
    "address", ["/kinds", "/lots?limit=5", "/", "/static/bench.css", "/nowhere"]
)
def test_head_is_answered_as_get_is_without_the_body(here: TestClient, address: str) -> None:
    got, head = here.get(address), here.head(address)
    assert (head.status_code, head.content) == (got.status_code, b"")
    plain = here.get(address, headers={"Accept-Encoding": "identity"})
    assert head.headers["content-type"] == got.headers["content-type"]
    assert head.headers["content-length"] == plain.headers["content-length"]
