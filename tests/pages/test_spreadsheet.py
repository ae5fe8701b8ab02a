"""Somebody's own list brought in by its page, without script."""

from typing import Any

import pytest

from tests.pages.conftest import Page, Visitor, held
from tests.use_cases.interchange.messy_lists import all_lists

LIST = (
    "Crop,Variety,How many,Year,Bought,Remarks\n"
    "carrot,Dusk Finger,approx 50,2019?,25/12/2019,thin packet\n"
    "pea,Low Lantern,1/4 packet,'19,,\n"
)


def post(
    visitor: Visitor, address: str, fields: dict[str, str], file: Any = None, **headers: str
) -> Page:
    """As a browser sends a form that may hold a file."""
    files = {"file": file or ("", b"", "application/octet-stream")}
    return visitor._page(visitor.client.post(address, data=fields, files=files, headers=headers))


def read(visitor: Visitor, text: str = LIST, **more: str) -> Page:
    return post(visitor, "/import", {"text": text, **more})


def confirm(visitor: Visitor, page: Page, **more: str) -> Page:
    fields = held(page.form("/import")) | more
    return post(visitor, "/import/take-in", fields)


def found(visitor: Visitor, words: str) -> int:
    return len(visitor.get(f"/find?words={words}").soup.select("#answer .sheets > li"))


def test_a_list_is_shown_as_read_and_nothing_is_kept_before_it_is_confirmed(
    visitor: Visitor,
) -> None:
    page = read(visitor)
    assert page.status == 200
    assert "2 rows of pasted text were read. Nothing is taken in yet." in page.text
    assert "“approx 50”: counted, by estimate: 50 seeds, give or take 10" in page.text
    columns = page.soup.select('select[name^="columns"] option[selected]')
    chosen = [one["value"] for one in columns]
    assert chosen == ["kind", "variety", "amount", "harvested", "acquired_on", "notes"]
    assert found(visitor, "Dusk+Finger") == 0
    done = confirm(visitor, page)
    assert (done.status, done.address) == (200, "/import/taken")
    assert "2 lots are here that were made of rows of your list" in done.text
    assert found(visitor, "Dusk+Finger") == 1
    lot = visitor.get(done.soup.select(".sheets a")[0]["href"])
    assert "Remarks: thin packet" in lot.text


def test_the_file_itself_can_be_sent_in_whatever_encoding(visitor: Visitor) -> None:
    text = LIST.replace("Dusk Finger", "Crème du Soir")
    for encoding, said in (("cp1252", "Windows-1252"), ("utf-16", "UTF-16"), ("utf-8", "UTF-8")):
        file = ("my list.csv", text.encode(encoding), "text/csv")
        page = post(visitor, "/import", {"text": ""}, file)
        assert "2 rows of my list.csv were read" in page.text
        assert said in page.text
        assert "Crème du Soir" in page.text


def test_the_same_form_sent_twice_books_once_and_so_does_the_same_list(visitor: Visitor) -> None:
    page = read(visitor)
    first = confirm(visitor, page)
    assert confirm(visitor, page).address == first.address
    assert found(visitor, "Dusk+Finger") == 1
    again = read(visitor)
    assert "Taken in before" in again.text
    assert not again.soup.select("button[formaction]")
    assert confirm(visitor, again).status == 200
    assert found(visitor, "Dusk+Finger") == 1


def test_what_was_changed_since_it_was_shown_is_shown_again_and_not_taken_in(
    visitor: Visitor,
) -> None:
    page = read(visitor)
    again = confirm(visitor, page, packet_seeds="60")
    assert again.status == 409
    assert "isn’t what was shown" in again.text
    assert found(visitor, "Low+Lantern") == 0
    assert "0.25 of a packet, by estimate of 60 seeds: 15 seeds, give or take 3.4" in again.text
    assert confirm(visitor, again).address == "/import/taken"


def test_what_only_its_owner_can_say_is_asked_and_the_rest_waits(visitor: Visitor) -> None:
    page = read(visitor, "Crop,Variety,Bought\ncarot,Dusk Finger,2/3/2019\n")
    assert "may be either; say which comes first" in page.text
    assert "did you mean carrot" in page.text
    assert not page.soup.select("button[formaction]")
    refused = confirm(visitor, page)
    assert refused.status == 422
    fields = held(refused.form("/import")) | {"kinds[0]": "carrot", "day_order": "month-first"}
    answered = post(visitor, "/import", fields)
    assert "came 3 Feb 2019" in answered.text
    assert confirm(visitor, answered).address == "/import/taken"


def test_a_date_that_may_be_a_month_or_years_is_asked_and_answered_on_the_page(
    visitor: Visitor,
) -> None:
    page = read(visitor, "Crop,Variety,Year\ncarrot,Dusk Finger,2009-10\npea,Low,2020\n")
    assert "harvest of 2009" not in page.text
    offered = page.soup.select_one('select[name="short_dates"]')
    assert offered is not None
    assert [one["value"] for one in offered.select("option")] == ["", "month", "years"]
    years = post(visitor, "/import", held(page.form("/import")) | {"short_dates": "years"})
    assert "harvest of 2009, a guess" in years.text
    page = read(visitor, "Crop,Variety,Year\ncarrot,Dusk Finger,11/12\npea,Low,2020\n")
    assert not page.soup.select('select[name="short_dates"]')
    offered = page.soup.select_one('select[name="dates[0]"]')
    assert offered is not None
    assert [one.text for one in offered.select("option")] == [
        "say which", "November 2012", "December 2011", "2011 to 2012", "nobody knows",
    ]  # fmt: skip
    assert not page.soup.select("button[formaction]")
    fields = held(page.form("/import")) | {"dates[0]": "2011 to 2012"}
    answered = post(visitor, "/import", fields)
    assert "harvest of 2011, a guess" in answered.text
    assert "harvest of 2020" in answered.text
    chosen = answered.soup.select_one('select[name="dates[0]"] option[selected]')
    assert chosen is not None
    assert chosen["value"] == "2011 to 2012"
    refused = post(visitor, "/import", fields | {"dates[0]": "never"})
    assert refused.status == 422
    assert "Write it like October 2009" in refused.text
    assert confirm(visitor, answered).address == "/import/taken"


def test_more_is_asked_than_fits_one_page_and_all_of_it_is_reached(visitor: Visitor) -> None:
    text = "Crop,Variety\n" + "".join(f"Odd{n},Invented {n}\n" for n in range(60))
    page = read(visitor, text)
    assert len(page.soup.select('input[name^="words["]')) == 60


def test_a_column_can_be_called_something_else(visitor: Visitor) -> None:
    page = read(visitor)
    fields = held(page.form("/import")) | {"columns[2]": "notes"}
    again = post(visitor, "/import", fields)
    assert "How many “approx 50”: kept in the lot’s notes" in again.text
    clash = post(visitor, "/import", fields | {"columns[1]": "kind"})
    assert clash.status == 422
    assert "Let one column be the kind of plant" in clash.text
    assert clash.soup.select("button[formaction]")  # the list itself is still there


def test_what_cannot_be_of_the_list_is_told_and_the_rest_of_what_was_said_still_counts(
    visitor: Visitor,
) -> None:
    fields = held(read(visitor).form("/import")) | {"columns[5]": "place", "origin": "gift"}
    wrong = {"packet_seeds": "many", "leave_out": "two", "columns[1]": "kind"}
    page = post(visitor, "/import", fields | wrong)
    assert page.status == 422
    assert page.soup.select_one("#packet_seeds-error")
    assert page.soup.select_one("#leave_out-error")
    assert "Let one column be the kind of plant" in page.text
    assert "2 lots are made" in page.text
    assert "taken to be a gift" in page.text
    again = held(page.form("/import"))
    assert (again["packet_seeds"], again["leave_out"]) == ("many", "two")
    refused = post(visitor, "/import/take-in", again)
    assert refused.status == 422
    assert found(visitor, "Dusk+Finger") == 0
    one = post(visitor, "/import", fields | {"packet_seeds": "0"})
    assert one.status == 422
    assert one.soup.select_one("#packet_seeds-error")
    assert "2 lots are made" in one.text


def test_lines_are_left_out_as_asked(visitor: Visitor) -> None:
    page = read(visitor)
    fields = held(page.form("/import")) | {"leave_out": "2"}
    less = post(visitor, "/import", fields)
    assert "1 lot is made" in less.text
    confirm(visitor, less)
    assert (found(visitor, "Dusk+Finger"), found(visitor, "Low+Lantern")) == (0, 1)
    wrong = post(visitor, "/import", fields | {"leave_out": "two"})
    assert wrong.status == 422
    assert "Write the numbers of lines" in wrong.text


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "Choose a file, or paste the rows"),
        (b"PK\x03\x04 workbook", "can’t be read as a workbook"),
        (b'Crop,Variety\ncarrot,"Dusk\n', "line 2"),
        (b"Crop,Variety\ncarrot,Du\0sk\n", "line 2: a NUL stands here"),
        (b"Crop,Variety\n" + b"pea,Low\n" * 50_001, "line 50002: bring at most 50,000 rows"),
        (b"Crop,Variety\n" + b"pea," + b"Dusk " * 320_000 + b"\n", "A page can carry 1,600,000"),
    ],
    ids=["nothing", "workbook", "unclosed", "nul", "many rows", "longer than a page"],
)
def test_what_is_no_list_is_refused_by_line(visitor: Visitor, content: Any, said: str) -> None:
    page = post(visitor, "/import", {"text": ""}, ("x.csv", content, "text/csv"))
    assert page.status == 422
    assert said in page.text


def test_hostile_text_stays_text(visitor: Visitor) -> None:
    hostile = '"<script>alert(1)</script>"'
    page = read(visitor, f"Crop,Variety,{hostile}\ncarrot,<b>x</b>,<img src=x onerror=1>\n")
    assert page.status == 200
    assert not page.soup.select("main script, main b, main img")
    assert "<b>x</b>" in page.text


def test_long_lists_are_shown_in_parts(visitor: Visitor) -> None:
    text = "Crop,Variety,How many\n" + "".join(f"carrot,Invented {n},{n}\n" for n in range(1, 101))
    page = read(visitor, text)
    assert len(page.soup.select("tbody tr")) == 50
    more = post(visitor, "/import", held(page.form("/import")) | {"shown": "100"})
    assert len(more.soup.select("tbody tr")) == 100
    assert "100 lots are made" in more.text
    assert "50 more, to be found" in confirm(visitor, more).text


def test_a_page_that_reads_its_list_again_is_not_sent_the_list(visitor: Visitor) -> None:
    text = LIST + "".join(f"carrot,Invented {n},{n},2020,,\n" for n in range(1, 301))
    page = read(visitor, text)
    fields = held(page.form("/import")) | {"origin": "gift"}
    by_form = post(visitor, "/import", fields)
    by_script = post(visitor, "/import", fields, **{"X-Requested-With": "fetch"})
    assert held(by_form.form("/import"))["text"] == text
    assert not by_script.soup.select("[name=text]")
    assert held(by_script.form("/import"))["digest"] == held(by_form.form("/import"))["digest"]


def test_a_workbook_is_carried_along_and_its_crops_offered_by_name(visitor: Visitor) -> None:
    german = next(one for one in all_lists() if one.name == "de-dreissig")
    file = ("Meine Samenliste.xlsx", german.content(), "application/octet-stream")
    page = post(visitor, "/import", {"text": ""}, file)
    assert "30 rows: 28 lots would be made, 2 to be answered or mended first." in page.text
    offered = {one["value"]: one["name"] for one in page.soup.select('input[type="radio"]')}
    assert {"squash-maxima", "common-bean"} < set(offered)
    said = {offered[slug]: slug for slug in ("squash-maxima", "common-bean")}
    answered = post(visitor, "/import", held(page.form("/import")) | said)
    assert "30 rows: 30 lots would be made." in answered.text
    assert confirm(visitor, answered).address == "/import/taken"


def test_an_amount_that_may_be_two_is_chosen_and_the_choice_stays(visitor: Visitor) -> None:
    page = read(visitor, "Crop;Variety;Amount;Year\nradish;Pip;2,500 g;2019\npea;Low;30 g;2020\n")
    box = page.soup.select_one('select[name="amounts[0]"]')
    assert box is not None
    assert [one["value"] for one in box.select("option")] == ["", "2.5 g", "2500 g", "?"]
    answered = post(visitor, "/import", held(page.form("/import")) | {"amounts[0]": "2.5 g"})
    assert "2 rows: 2 lots would be made." in answered.text
    chosen = answered.soup.select_one('select[name="amounts[0]"] option[selected]')
    assert chosen is not None
    assert chosen["value"] == "2.5 g"
