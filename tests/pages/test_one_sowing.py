"""A sowing counted, its losses told, finished and compared with what was foretold; undone."""

import pytest

from tests.pages.conftest import Visitor

OPEN = "/sowing/133"


def test_an_open_sowing_says_what_is_to_come_and_by_when(visitor: Visitor) -> None:
    page = visitor.get(OPEN)
    assert page.status == 200
    assert "What to expect" in page.text
    assert "9 times in 10" in page.text
    assert "The first were due about 8 Feb 2027" in page.text


def test_emergence_is_counted_with_keys_and_without_script(visitor: Visitor) -> None:
    page = visitor.get(OPEN)
    action = f"{OPEN}/count"
    pressed = visitor.send(page, action, units_emerged=90, step="units_emerged:+1")
    assert pressed.status == 200
    assert pressed.soup.select('[name="units_emerged"]')[0]["value"] == "91"
    saved = visitor.send(pressed, action)
    assert (saved.status, saved.address) == (200, OPEN)
    assert "20 Feb 2027: 91 up" in saved.text
    assert visitor.send(pressed, action).address == OPEN
    assert visitor.get(OPEN).text.count("91 up") == 1


def test_seedlings_on_the_day_of_sowing_are_taken_once_it_is_said_that_so_it_was(
    visitor: Visitor,
) -> None:
    given = {"lot": "YMY4K", "seeds_sown": 60, "method": "row"}
    headers = {"Idempotency-Key": "sown-today-1"}
    sown = visitor.client.post("/sowings", json=given, headers=headers)
    address = f"/sowing/{sown.json()['id']}"
    page = visitor.get(address)
    assert page.soup.select("[name=confirmed]") == []  # only asked where there is a doubt
    doubted = visitor.send(page, f"{address}/count", units_emerged=59)
    assert doubted.status == 422
    assert "59 up on the day of sowing." in doubted.soup.select("#on_date-error")[0].text
    (key,) = doubted.soup.select("button[name=confirmed]")
    assert key.text == "Yes, so it was"
    # Enter presses the first key, which is none that confirms.
    assert doubted.form(f"{address}/count").select("button")[0].get("name") != "confirmed"
    again = visitor.send(doubted, f"{address}/count", units_emerged=59)
    assert again.status == 422
    taken = visitor.send(doubted, f"{address}/count", confirmed="yes")
    assert "59 up" in taken.text
    assert taken.soup.select("[name=confirmed]") == []


def test_a_total_that_falls_must_be_called_a_correction(visitor: Visitor) -> None:
    action = f"{OPEN}/count"
    visitor.send(visitor.get(OPEN), action, units_emerged=90, on_date="2027-02-19")
    fewer = visitor.send(visitor.get(OPEN), action, units_emerged=80)
    assert fewer.status == 422
    assert "mark the count as a correction" in fewer.soup.select("#units_emerged-error")[0].text
    right = visitor.send(fewer, action, units_emerged=80, correction="yes")
    assert "80 up (the counts before were too high)" in right.text


def test_more_than_were_sown_cant_come_up(visitor: Visitor) -> None:
    refused = visitor.send(visitor.get(OPEN), f"{OPEN}/count", units_emerged=4000)
    assert refused.status == 422
    assert refused.soup.select("#units_emerged-error")
    letters = visitor.send(visitor.get(OPEN), f"{OPEN}/count", units_emerged="<i>all</i>")
    assert letters.status == 422
    assert letters.soup.select('[name="units_emerged"]')[0]["value"] == "<i>all</i>"
    assert letters.soup.select("main i") == []


def test_losses_are_told_by_cause(visitor: Visitor) -> None:
    page = visitor.get(OPEN)
    lost = visitor.send(page, f"{OPEN}/loss", cause="eaten", units_lost=9)
    assert lost.status == 200
    assert "9 lost in the soil, eaten: mice, birds, slugs" in lost.text
    pressed = visitor.send(page, f"{OPEN}/loss", step="units_lost:+1")
    assert pressed.soup.select('[name="units_lost"]')[0]["value"] == "2"
    assert pressed.soup.select("details[open] [name=cause]")
    cause = visitor.send(page, f"{OPEN}/loss", cause="dragons")
    assert cause.status == 422
    assert cause.soup.select("#cause-error")


def test_a_finished_sowing_is_compared_with_what_was_foretold(visitor: Visitor) -> None:
    asked = visitor.get("/lot/RPR02/sow?method=row&plants=5&was=row")
    sown = visitor.send(asked, str(asked.soup.select("#answer form")[0]["action"]))
    early = visitor.send(sown, f"{sown.address}/finish")
    assert early.status == 409
    assert "Nothing was counted" in early.text
    visitor.send(visitor.get(OPEN), f"{OPEN}/count", units_emerged=5, correction="yes")
    done = visitor.send(visitor.get(OPEN), f"{OPEN}/finish")
    assert (done.status, done.address) == (200, OPEN)
    assert "5 did" in done.text
    assert "fewer than foretold" in done.text
    assert done.soup.select(f'form[action="{OPEN}/count"]') == []


def test_a_mistaken_sowing_is_undone_only_when_sure(visitor: Visitor) -> None:
    sowing = visitor.client.get("/sowings/133").json()
    lot, seeds = sowing["lot"], sowing["seeds_sown"]
    held = visitor.client.get(f"/lots/{lot}").json()["amount"]["seeds"]
    page = visitor.get(OPEN)
    assert visitor.send(page, f"{OPEN}/undo").status == 422
    assert visitor.send(page, f"{OPEN}/undo", sure="yes").address == f"/lot/{lot}"
    assert visitor.get(OPEN).status == 404
    assert visitor.client.get(f"/lots/{lot}").json()["amount"]["seeds"] == held + seeds


def test_sowings_still_coming_up_are_listed_first(visitor: Visitor) -> None:
    page = visitor.get("/sowing?year=2026")
    links = [str(one["href"]) for one in page.soup.select(".sheets a")]
    assert {"/sowing/125", "/sowing/132", "/sowing/133"} == set(links[:3])
    assert len(links) > 3
    lot = visitor.client.get("/sowings/133").json()["lot"]
    mine = visitor.get(f"/sowing?lot={lot}")
    assert OPEN in [str(one["href"]) for one in mine.soup.select(".sheets a")]
    assert visitor.get("/sowing?lot=<b>").status == 422


@pytest.mark.parametrize("address", ["/sowing/0", "/sowing/99999", "/sowing/x"])
def test_there_is_no_such_sowing(visitor: Visitor, address: str) -> None:
    assert visitor.get(address).status == 404


@pytest.mark.parametrize("address", [OPEN, "/sowing/120", "/sowing?year=2026"])
def test_pages_of_sowings_are_light(visitor: Visitor, address: str) -> None:
    answer = visitor.client.get(address)
    assert answer.status_code == 200
    assert len(answer.content) < 30_000
