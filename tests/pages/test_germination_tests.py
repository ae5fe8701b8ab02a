"""A test started by advice, and a finished one entered whole."""

from tests.pages.conftest import Visitor


def test_a_lot_is_advised_a_test_and_starts_it(visitor: Visitor) -> None:
    page = visitor.get("/lot/RPR02/test")
    assert page.status == 200
    for heading in ("Is it worth its seed?", "How it is done", "Start it"):
        assert heading in page.text
    started = visitor.send_fields(
        page, "/lot/RPR02/test", {"replicates[0]": 10, "replicates[1]": 10}
    )
    assert started.status == 200
    assert started.address.startswith("/test/")
    assert "20 seeds on 2 towels" in started.text
    twice = visitor.send_fields(page, "/lot/RPR02/test", {"replicates[0]": 10, "replicates[1]": 10})
    assert twice.address == started.address
    assert started.address in str(visitor.get("/tests").soup)


def test_the_parts_proposed_are_those_advised(visitor: Visitor) -> None:
    lots = visitor.client.get("/lots", params={"limit": 100}).json()["items"]
    code, advice = next(
        (lot["code"], advice)
        for lot in lots
        for advice in (visitor.client.get(f"/lots/{lot['code']}/test-advice").json(),)
        if advice.get("seeds")
    )
    page = visitor.get(f"/lot/{code}/test")
    set_out = [
        int(str(one["value"])) for one in page.soup.select('[name^="replicates["]') if one["value"]
    ]
    assert sum(set_out) == advice["seeds"] > 0


def test_a_lot_in_a_test_already_is_told_of_it(visitor: Visitor) -> None:
    assert "still open" in visitor.get("/lot/7HR4M/test").text


def test_treated_seed_carries_its_caution(visitor: Visitor) -> None:
    cautions = " ".join(one.text for one in visitor.get("/lot/RPR02/test").soup.select(".caution"))
    assert "reated seed" in cautions
    assert "mould" in cautions.lower()


def test_more_seed_than_the_packet_holds_is_refused_and_nothing_is_lost(visitor: Visitor) -> None:
    page = visitor.get("/lot/RPR02/test")
    notes = "<b>bold</b>"
    refused = visitor.send_fields(
        page, "/lot/RPR02/test", {"replicates[0]": 9000, "notes": notes, "started_on": "2027-02-19"}
    )
    assert refused.status == 409
    assert "can't be taken" in refused.text
    assert refused.soup.select('[name="replicates[0]"]')[0]["value"] == "9000"
    assert refused.soup.select("textarea")[0].text == notes
    tomorrow = visitor.send_fields(
        page, "/lot/RPR02/test", {"replicates[0]": 10, "started_on": "2027-02-21"}
    )
    assert tomorrow.status == 422
    assert tomorrow.soup.select("#started_on-error")


def test_a_whole_finished_test_is_entered_in_one_go(visitor: Visitor) -> None:
    address = "/lot/RPR02/test/finished"
    page = visitor.get(address)
    fields = {
        "started_on": "2027-02-01",
        "finished_on": "2027-02-15",
        "replicates[0].seeds_set": 10,
        "replicates[0].normal": 8,
    }
    wrong = visitor.send_fields(page, address, fields | {"replicates[0].normal": 11})
    assert wrong.status == 422
    assert "11 seeds are judged but 10 were set" in wrong.text
    missing = visitor.send_fields(page, address, fields | {"replicates[0].normal": ""})
    assert missing.status == 422
    assert "has to be given" in missing.soup.select("#replicates-0-normal-error")[0].text
    done = visitor.send_fields(page, address, fields)
    assert done.status == 200
    assert "What it changes" in done.text


def test_an_unknown_lot_has_no_test_page(visitor: Visitor) -> None:
    assert visitor.get("/lot/ZZZZZ/test").status in (404, 422)
    assert visitor.get("/lot/ZZZZZ/test/finished").status in (404, 422)


def test_what_went_wrong_with_a_test_is_told_on_its_page_and_taken_back(visitor: Visitor) -> None:
    action = "/test/100/fault"
    lot = visitor.client.get("/germination-tests/100").json()["lot"]
    marked = visitor.send_fields(visitor.get("/test/100"), action, {"fault": "mould"})
    assert "It went wrong (mould)" in marked.text
    [option] = marked.soup.select("#fault option[selected]")
    assert option["value"] == "mould"
    assert "It went wrong: mould." in visitor.get(f"/lot/{lot}").text
    again = visitor.send_fields(marked, action, {"fault": ""})
    assert "went wrong (" not in again.text
    assert visitor.client.get("/germination-tests/100").json()["fault"] is None


def test_two_tests_that_contradict_each_other_show_both_readings(visitor: Visitor) -> None:
    for normal, day in ((25, "2027-02-01"), (5, "2027-02-03")):
        page = visitor.get("/lot/YMY4K/test/finished")
        typed = {"replicates[0].seeds_set": 25, "replicates[0].normal": normal, "started_on": day}
        visitor.send_fields(page, "/lot/YMY4K/test/finished", typed)
    page = visitor.get("/lot/YMY4K")
    found = visitor.client.get("/lots/YMY4K/viability").json()["contradiction"]
    for reading in ("if_both_hold", "if_one_failed"):
        low, high = (round(found[reading][f"{end}_90_pct"]) for end in ("low", "high"))
        assert f"({low}–{high} %)" in page.text
    assert "If both tests hold" in page.text
    assert "Test 10 seeds more" in page.text
