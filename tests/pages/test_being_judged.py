"""A collection too large to judge while a page waits: the page says so, and looks again."""

import time

import pytest

from seedbank.verdicts import judge_meanwhile
from tests.pages.conftest import Visitor


def test_a_large_collection_is_judged_meanwhile_and_the_front_page_says_so(
    visitor: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(judge_meanwhile, "AT_ONCE", 3)
    answer = visitor.client.get("/", headers={"Accept": "text/html"})
    assert answer.status_code == 200
    assert answer.headers["Refresh"] == "5"
    assert "lots are being judged" in answer.text
    deadline = time.monotonic() + 60
    while "Refresh" in (answer := visitor.client.get("/")).headers:
        assert time.monotonic() < deadline
        time.sleep(0.05)
    assert "Grow for seed" in answer.text


def test_a_small_collection_is_judged_at_once(visitor: Visitor) -> None:
    assert "Refresh" not in visitor.client.get("/").headers
