"""Routes come when they are asked for: in order, once, whoever else asks meanwhile."""

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient
from starlette.routing import BaseRoute, Route

import seedbank
from seedbank.server.api_routers import ROUTERS
from seedbank.server.later import LaterRoutes, add_all
from seedbank.server.pages import later_pages
from tests.server.conftest import HERE, client_of, service


def paths(app: FastAPI) -> list[str]:
    return [route.path for route in app.router.routes if isinstance(route, APIRoute)]


def test_the_front_page_needs_no_other_page_and_no_api(collection_url: str) -> None:
    app = service(collection_url)
    here = client_of(app, HERE)
    assert paths(app) == []
    assert here.get("/static/bench.js").status_code == 200
    assert paths(app) == []
    assert here.get("/").status_code == 200
    assert set(paths(app)) == {"/", "/week/again", "/week/later"}
    assert here.get("/kinds").status_code == 200
    assert "/kinds" in paths(app)


def test_every_route_comes_once_whoever_asks_at_the_same_time(collection_url: str) -> None:
    app = service(collection_url)
    addresses = ["/", "/find", "/more", "/kinds", "/lots", "/openapi.json", "/plan", "/take-in"]
    with ThreadPoolExecutor(len(addresses)) as crowd:
        got = crowd.map(lambda address: client_of(app, HERE).get(address).status_code, addresses)
    assert set(got) == {200}
    found = [
        (route.path, *sorted(route.methods))
        for route in app.router.routes
        if isinstance(route, APIRoute)
    ]
    assert len(found) == len(set(found))


def test_an_address_that_leads_nowhere_is_told_so_at_once(collection_url: str) -> None:
    here = client_of(service(collection_url), HERE)
    assert here.get("/nowhere").json()["title"] == "Not Found"
    wrong = client_of(service(collection_url), HERE).put("/find")
    assert (wrong.status_code, wrong.headers["Allow"]) == (405, "GET")


def test_every_router_of_pages_is_served() -> None:
    house = Path(seedbank.__file__).parent
    written = [
        one
        for path in house.glob("**/pages/*.py")
        if "page_router()" in (text := path.read_text("utf-8"))
        for one in re.findall(r"^@router\.\w+\(", text, re.MULTILINE)
    ]
    served = [one for make in later_pages() for one in make() if isinstance(one, APIRoute)]
    assert len(served) == len(written)


def test_no_page_has_an_address_of_the_api() -> None:
    """They are asked in turn: a page that took one would hide it."""
    pages = [one for make in later_pages() for one in make() if isinstance(one, APIRoute)]
    api = [one for router in ROUTERS for one in router.routes if isinstance(one, APIRoute)]

    def takes(route: APIRoute, other: APIRoute) -> bool:
        return route.path_regex.match(re.sub(r"\{.*?\}", "1", other.path)) is not None

    both = [(p.path, a.path) for p in pages for a in api if takes(p, a) or takes(a, p)]
    assert both == []


def test_routes_that_could_not_be_made_are_made_at_the_next_request() -> None:
    app = FastAPI()
    tries = []

    def make() -> list[BaseRoute]:
        tries.append(1)
        if len(tries) == 1:
            raise MemoryError
        return [Route("/there", lambda _: None)]

    app.router.routes.append(LaterRoutes(app.router.routes, [make]))
    client = TestClient(app)
    with pytest.raises(MemoryError):
        client.get("/there")
    add_all(app)
    assert any(isinstance(one, Route) and one.path == "/there" for one in app.router.routes)
