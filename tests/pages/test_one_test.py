"""An open test counted at the bench, with script and without; finished, read, undone."""

import re

import pytest

from tests.pages.conftest import Page, Visitor, held

OPEN = "/test/130"  # two parts of ten; 7 and 4 of them judged before
QUERY = {"on_date": "2027-02-20", "counts[0].replicate": "1", "counts[1].replicate": "2"}


def between(page: Page) -> tuple[int, int]:
    """Where germination still can end, as the page says."""
    said = re.search(r"Sprouted will end between (\d+) and (\d+) %", page.text)
    assert said is not None
    return int(said[1]), int(said[2])


def ahead(visitor: Visitor, **counts: int) -> Page:
    typed = {f"counts[1].{name}": str(seeds) for name, seeds in counts.items()}
    answer = visitor.client.get(OPEN, params=QUERY | typed)
    return visitor._page(answer)


def balance(visitor: Visitor, lot: str) -> int:
    seeds = visitor.client.get(f"/lots/{lot}").json()["amount"]["seeds"]
    assert isinstance(seeds, int)
    return seeds


def test_the_page_of_an_open_test_says_what_is_still_to_judge(visitor: Visitor) -> None:
    page = visitor.get(OPEN)
    assert page.status == 200
    assert "6 of 10 still waiting" in page.text
    assert "3 of 10 still waiting" in page.text
    assert "day 11" in page.text
    [bar] = page.soup.select('#answer svg[aria-label^="Sprouted"]')
    assert re.search(r"from \d+ to \d+ in a hundred", str(bar["aria-label"]))


def test_counts_typed_narrow_the_interval_without_being_saved(visitor: Visitor) -> None:
    before = between(visitor.get(OPEN))
    after = between(ahead(visitor, normal=3, dead=1))
    assert before[0] < after[0]
    assert after[1] < before[1]
    assert between(visitor.get(OPEN)) == before
    rest = {"counts[0].normal": "3", "counts[1].normal": "4", "counts[1].dead": "2"}
    whole = visitor._page(visitor.client.get(OPEN, params=QUERY | rest))
    assert "Every seed is judged" in whole.text
    assert whole.soup.select("#left-2")[0].text.startswith("All 10 judged")


def test_a_key_without_script_shows_the_count_after_it_and_saves_nothing(visitor: Visitor) -> None:
    page = visitor.get(OPEN)
    pressed = visitor.send_fields(page, OPEN, {"step": "counts[1].normal:+1"})
    assert pressed.status == 200
    again = visitor.send_fields(pressed, OPEN, {"step": "counts[1].normal:+1"})
    assert again.soup.select('[name="counts[1].normal"]')[0]["value"] == "2"
    assert "4 of 10 still waiting" in again.text
    assert "6 of 10 still waiting" in visitor.get(OPEN).text


def test_enter_saves_rather_than_presses_the_first_minus(visitor: Visitor) -> None:
    first = visitor.get(OPEN).form(OPEN).select("button")[0]
    assert first.get("name") is None


def test_a_days_count_is_saved_once_however_often_it_is_sent(visitor: Visitor) -> None:
    page = visitor.get(OPEN)
    saved = visitor.send_fields(page, OPEN, {"counts[1].normal": 3})
    assert (saved.status, saved.address) == (200, OPEN)
    assert saved.soup.select("#left-2")[0].text.startswith("3 of 10 still waiting")
    assert "You counted this day already" in saved.text
    twice = visitor.send_fields(page, OPEN, {"counts[1].normal": 3})
    assert (twice.status, twice.address) == (200, OPEN)
    counts = visitor.client.get("/germination-tests/130").json()["counts"]
    assert sum(one["on_date"] == "2027-02-20" for one in counts) == 2


def test_a_second_visit_that_day_corrects_and_asks_why(visitor: Visitor) -> None:
    visitor.send_fields(visitor.get(OPEN), OPEN, {"counts[1].normal": 3})
    page = visitor.get(OPEN)
    silent = visitor.send_fields(page, OPEN, {"counts[1].normal": 2})
    assert silent.status == 422
    assert "Say in a few words what was wrong" in silent.soup.select("#why-error")[0].text
    hostile = "<script>alert(1)</script>"
    right = visitor.send_fields(
        visitor.get(OPEN), OPEN, {"counts[1].normal": 2, "why": f"stub {hostile}"}
    )
    assert right.status == 200
    assert f"Towel 2 changed: stub {hostile}." in right.text
    assert not right.soup.select("main script")


def test_more_seeds_than_were_set_are_told_beside_their_field(visitor: Visitor) -> None:
    page = visitor.get(OPEN)
    for answer in (
        visitor.send_fields(page, OPEN, {"counts[1].normal": 7}),
        ahead(visitor, normal=7),
    ):
        assert answer.status == 422
        assert (
            "judge 10 seeds at most" in answer.soup.select("#counts-1-normal-error")[0].text.lower()
        )
    letters = visitor.send_fields(page, OPEN, {"counts[1].normal": "many"})
    assert letters.status == 422
    assert "Give a whole number" in letters.soup.select("#counts-1-normal-error")[0].text
    assert letters.soup.select('[name="counts[1].normal"]')[0]["value"] == "many"


def test_finishing_needs_every_seed_judged_or_said_to_be_dead(visitor: Visitor) -> None:
    page = visitor.get(OPEN)
    refused = visitor.send_fields(page, OPEN, {"counts[1].normal": 3, "finish": "yes"})
    assert refused.status == 422
    assert "3 seeds of replicate 1 are not judged yet" in refused.text
    done = visitor.send_fields(
        visitor.get(OPEN), OPEN, {"counts[1].normal": 3, "finish": "yes", "rest_dead": "yes"}
    )
    assert (done.status, done.address) == (200, OPEN)
    assert "What it changes" in done.text
    assert "The towels agree" in done.text
    assert done.soup.select('a[href="/lot/7HR4M/sow"]')
    again = visitor.send_fields(page, OPEN, {"counts[1].normal": 1})
    assert again.status in (409, 422)


def test_a_count_of_another_day_is_opened_and_put_right(visitor: Visitor) -> None:
    link = visitor.get(OPEN).soup.select("#counts-on-record + ul a")[0]
    page = visitor.get(str(link["href"]))
    day = str(link["href"]).rpartition("=")[2]
    assert page.soup.select('[name="on_date"]')[0]["value"] == day
    was = int(str(page.soup.select('[name="counts[0].normal"]')[0]["value"]))
    fixed = visitor.send_fields(
        page, OPEN, {"counts[0].normal": was - 1, "why": "one counted twice"}
    )
    assert fixed.status == 200
    assert "4 of 10 still waiting" in fixed.text


def test_a_mistaken_test_is_undone_only_when_sure_and_its_seed_comes_back(
    visitor: Visitor,
) -> None:
    held = balance(visitor, "7HR4M")
    page = visitor.get(OPEN)
    unsure = visitor.send(page, f"{OPEN}/undo")
    assert unsure.status == 422
    undone = visitor.send(page, f"{OPEN}/undo", sure="yes")
    assert undone.address == "/lot/7HR4M"
    assert visitor.get(OPEN).status == 404
    assert balance(visitor, "7HR4M") == held + 20


def test_a_test_counted_meanwhile_is_not_undone_unseen(visitor: Visitor) -> None:
    page = visitor.get(OPEN)
    visitor.send_fields(visitor.get(OPEN), OPEN, {"counts[1].normal": 3})
    assert visitor.send(page, f"{OPEN}/undo", sure="yes").status == 412
    assert visitor.get(OPEN).status == 200


@pytest.mark.parametrize("address", ["/test/0", "/test/99999", "/test/99999999999", "/test/x"])
def test_there_is_no_such_test(visitor: Visitor, address: str) -> None:
    assert visitor.get(address).status == 404


@pytest.mark.parametrize("address", [OPEN, "/test/100", "/test/136", "/tests"])
def test_pages_of_tests_are_light(visitor: Visitor, address: str) -> None:
    answer = visitor.client.get(address)
    assert answer.status_code == 200
    assert len(answer.content) < 30_000


def test_what_counting_on_can_change_is_told_with_its_reason(visitor: Visitor) -> None:
    page = visitor.get("/test/136")
    answer = page.soup.select_one("#answer")
    assert answer is not None
    said = " ".join(answer.text.split())
    assert "If none of the rest sprout: Get fresh. What was tested hardly lived" in said
    assert "If all of them do: Last chance. This kind's seed doesn't keep" in said
    assert "Sow as usual" not in said


def test_a_kind_named_after_a_place_keeps_its_large_letters(visitor: Visitor) -> None:
    added = visitor.client.post(
        "/take-in",
        data=held(visitor.get("/take-in").form("/take-in"))
        | {"kind": "New Zealand spinach", "variety": "Saltmere", "much": "seeds"}
        | {"amount.seeds": "60", "dated": "none"},
    )
    code = str(added.url.path).removeprefix("/lot/")
    start = visitor.get(f"/lot/{code}/test")
    test = visitor.send_fields(start, f"/lot/{code}/test", {"replicates[0]": 10})
    assert test.soup.h1 is not None
    assert test.soup.h1.text == "New Zealand spinach towel"
    assert "New Zealand spinach, Saltmere" in visitor.get("/tests/sheet").text
    through = visitor.get("/kind/new-zealand-spinach/season")
    assert through.soup.h1 is not None
    assert through.soup.h1.text == "New Zealand spinach through the year"
