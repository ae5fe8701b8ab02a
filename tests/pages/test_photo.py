"""A photograph of a packet, by a form with a file."""

import io
from collections.abc import Callable
from typing import Any

import pytest
from PIL import Image

from seedbank.lots import photographs
from seedbank.web.pages import page_request
from tests.pages.conftest import Page, Visitor, held
from tests.use_cases.lots.photographed import picture

LOT = "/lot/26YPM"


def sent(visitor: Visitor, page: Page, file: bytes | None) -> Page:
    fields = held(page.form(f"{LOT}/photo"))
    files = {"photo": ("packet.jpg", file or b"", "image/jpeg")}
    return visitor._page(visitor.client.post(f"{LOT}/photo", data=fields, files=files))


def test_a_photograph_is_put_by_its_form_and_stands_on_the_lots_page(visitor: Visitor) -> None:
    page = visitor.get(f"{LOT}/photo")
    assert "Add a photo" in visitor.get(LOT).text
    first = sent(visitor, page, picture((3000, 4000)))  # some 9 MB, as a phone's
    assert first.address == LOT
    assert sent(visitor, page, picture((3000, 4000))).address == LOT  # the same once more
    [image] = first.soup.select("img.photo")
    answer = visitor.client.get(str(image["src"]))
    assert answer.headers["content-type"] == "image/jpeg"
    assert Image.open(io.BytesIO(answer.content)).size == (1200, 1600) or len(answer.content) < 2e5
    tag = answer.headers["etag"]
    assert visitor.client.get(str(image["src"]), headers={"If-None-Match": tag}).status_code == 304


def test_a_photograph_is_made_small_before_the_database_is_locked(
    visitor: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[str] = []

    def noted(name: str, action: Callable[..., Any]) -> Callable[..., Any]:
        def noting(*given: Any, **more: Any) -> Any:
            done.append(name)
            return action(*given, **more)

        return noting

    monkeypatch.setattr(photographs, "made_small", noted("made small", photographs.made_small))
    monkeypatch.setattr(page_request, "run_once", noted("locked", page_request.run_once))
    sent(visitor, visitor.get(f"{LOT}/photo"), picture())
    typed = held(visitor.get("/take-in").form("/take-in"))
    typed |= {"kind": "carrot", "variety": "Dusk Finger", "dated": "none"}
    file = {"photo": ("packet.jpg", picture(), "image/jpeg")}
    taken = visitor._page(visitor.client.post("/take-in", data=typed, files=file))
    assert taken.address.startswith("/lot/")
    assert done == ["made small", "locked"] * 2


def test_a_photograph_that_fails_says_so_and_changes_nothing(visitor: Visitor) -> None:
    for file, said in ((None, "No photograph was chosen"), (b"not one", "no picture that can be")):
        page = sent(visitor, visitor.get(f"{LOT}/photo"), file)
        assert page.status == 422
        assert said in page.text
    assert visitor.client.get(f"{LOT}/photo.jpg").status_code == 404


def test_a_photograph_is_taken_away_only_when_that_is_ticked(visitor: Visitor) -> None:
    sent(visitor, visitor.get(f"{LOT}/photo"), picture())
    page = visitor.get(f"{LOT}/photo")
    kept = visitor.send(page, f"{LOT}/photo/remove")
    assert (kept.status, "still there" in kept.text) == (422, True)
    assert visitor.send(page, f"{LOT}/photo/remove", sure="yes").address == LOT
    assert not visitor.get(LOT).soup.select("img.photo")
