"""The front page: five jobs, each with one reason and one key; put off, taken up, begun, done."""

import pytest
from bs4 import Tag

from tests.pages.conftest import Page, Visitor, held

CODE = {"Idempotency-Key": "v"}


def rows(page: Page, heading: str) -> list[Tag]:
    """The rows under a heading of the front page."""
    for section in page.soup.select("main section"):
        title = section.select_one("h2")
        if title is not None and title.text.startswith(heading):
            return section.select(".rows > li")
    return []


def title(row: Tag) -> str:
    found = row.select_one(".row b")
    assert found is not None
    return found.text


def press(visitor: Visitor, row: Tag) -> Page:
    """Press the key beside a row."""
    [form] = row.select("form")
    answer = visitor.client.post(str(form["action"]), data=held(form))
    return visitor.get(f"{answer.url.path}?{answer.url.query.decode()}")


def test_five_jobs_each_have_a_reason_a_place_to_do_it_and_next_week(visitor: Visitor) -> None:
    page = visitor.get("/")
    [sign] = page.soup.select(".sign .said")
    assert sign.text.startswith("Five jobs this week.")
    assert len(sign.text.split()) <= 9
    jobs = rows(page, "To do this week")
    assert len(jobs) == 5
    for job in jobs:
        [link], [why] = job.select("a.row"), job.select(".why")
        assert visitor.get(str(link["href"])).status == 200
        assert why.text.strip().endswith((".", "?"))
        [key] = job.select("button")
        assert key.text == f"Next week: {title(job)}"


def test_next_week_puts_a_job_off_and_undo_takes_it_up(visitor: Visitor) -> None:
    before = rows(visitor.get("/"), "To do this week")
    after = press(visitor, before[1])
    assert title(before[1]) not in [title(one) for one in rows(after, "To do this week")]
    assert len(rows(after, "To do this week")) == 5  # the next one takes its place
    [done] = after.soup.select(".done[role=status]")
    assert f"Put off until 27 Feb 2027: {title(before[1])}." in done.text
    assert "Put off: 1" in after.text
    undone = press(visitor, done)
    assert [title(one) for one in rows(undone, "To do this week")] == [title(one) for one in before]
    assert undone.soup.select(".done") == []


def test_a_job_put_off_twice_with_one_key_is_put_off_once(visitor: Visitor) -> None:
    [form] = rows(visitor.get("/"), "To do this week")[0].select("form")
    sent = held(form)
    first = visitor.client.post("/week/later", data=sent)
    again = visitor.client.post("/week/later", data=sent)
    assert (first.status_code, again.status_code) == (200, 200)
    assert "Put off: 1" in visitor.get("/").text


def test_a_job_that_is_none_is_refused_in_words(visitor: Visitor) -> None:
    [form] = rows(visitor.get("/"), "To do this week")[0].select("form")
    answer = visitor.client.post("/week/later", data=held(form) | {"job": "count-99999"})
    assert answer.status_code == 404
    assert "There is no job" in " ".join(answer.text.split())


def test_what_can_wait_is_counted_by_kind_of_work_and_led_to(visitor: Visitor) -> None:
    page = visitor.get("/")
    [fold] = [one for one in page.soup.select("details") if "can wait" in one.text]
    numbers = {str(a["href"]): int(a.select_one("strong").text) for a in fold.select("a")}  # type: ignore[union-attr]
    [summary] = fold.select("summary")
    assert summary.text == f"{sum(numbers.values())} more can wait"
    assert {"/season/towel-first", "/season/running-out"} <= set(numbers)
    assert all(visitor.get(one).status == 200 for one in numbers)


def test_a_towel_set_moves_to_what_is_begun_with_the_day_of_its_count(visitor: Visitor) -> None:
    page = visitor.get("/lot/RPR02/test")
    made = visitor.send_fields(page, "/lot/RPR02/test", {"replicates[0]": "10"})
    assert made.status == 200
    begun = [one.text for one in visitor.get("/").soup.select("main .row") if one.select(".begun")]
    assert any("On a towel" in one and "Look on" in one for one in begun)


def test_the_strip_shows_the_shelf_by_state(visitor: Visitor) -> None:
    page = visitor.get("/")
    told = {
        str(a["href"]): int(a.select_one("b").text)  # type: ignore[union-attr]
        for a in page.soup.select(".tally a")
        if "state=" in str(a["href"])
    }
    chips = {
        str(one["value"]): int(one.text.split()[-1])
        for one in visitor.get("/shelf").soup.select(".chip[name=state]")
        if one["value"]
    }
    assert told == {f"/shelf?state={state}": lots for state, lots in chips.items()}
    assert [float(one["width"]) for one in page.soup.select(".stock rect")] == list(told.values())


@pytest.mark.parametrize("address", ["/season", "/plan", "/shelf", "/"])
def test_an_empty_collection_leads_to_the_first_packet(bare: Visitor, address: str) -> None:
    page = bare.get(address)
    [sign] = page.soup.select(".sign .said")
    assert sign.text == "Your shelf is empty. Start with one packet."
    ways = {str(a["href"]) for a in page.soup.select("section[aria-label] a")}
    assert ways == {"/take-in", "/import"}
    assert "SEEDBANK_BASE_URL" not in page.text
    assert page.soup.select(".tins, .chips, .stock") == []  # never a row of zeros


def test_when_all_is_done_the_sign_is_green_and_says_what_comes_next(bare: Visitor) -> None:
    variety = {"kind": "carrot", "name": "Invented Amber", "other_keepers": "many"}
    number = bare.client.post("/varieties", json=variety, headers=CODE).json()["id"]
    lot = {"variety_id": number, "origin": "bought", "amount": {"seeds": 500}, "harvest_year": 2026}
    code = bare.client.post("/lots", json=lot, headers={"Idempotency-Key": "l"}).json()["code"]
    page = bare.get("/")
    [sign] = page.soup.select(".sign")
    assert "c-sow-as-usual" in sign["class"]
    assert "Nothing needs you this week." in sign.text
    form = {"lot": code, "replicates": [10], "substratum": "paper-towel"}
    made = bare.client.post("/germination-tests", json=form, headers={"Idempotency-Key": "t"})
    assert made.status_code == 201
    [sign] = bare.get("/").soup.select(".sign")
    # A carrot's first count: 7 CFR 201.58 table 2, day 6.
    assert "Next: Invented Amber towel, 26 Feb 2027." in " ".join(sign.text.split())
