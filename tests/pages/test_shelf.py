"""The shelf without script: sorted, filtered, ticked over pages, and worked on."""

import pytest

from tests.pages.conftest import Page, Visitor


def names(page: Page) -> list[str]:
    return [one.text for one in page.soup.select(".packets tbody th a")]


def codes(page: Page) -> list[str]:
    return [str(one["value"]) for one in page.soup.select(".packets tbody input[name=lot]")]


def place_of(visitor: Visitor, code: str) -> str:
    return str(visitor.client.get(f"/lots/{code}").json()["place"]["name"])


def test_the_weakest_stand_first_and_every_packet_is_on_one_page(visitor: Visitor) -> None:
    page = visitor.get("/shelf")
    assert page.status == 200
    seen, number = codes(page), 2
    while page.soup.select(f"button[name=page][value='{number}']"):
        page = visitor.get(f"/shelf?page={number}")
        seen, number = seen + codes(page), number + 1
    told = visitor.client.get("/packets?limit=200").json()
    assert seen == [one["lot"]["code"] for one in told["items"]]
    assert len(set(seen)) == told["total"]
    shares = [one["viability"]["median_pct"] for one in told["items"]]
    known = [share for share in shares if share is not None]
    assert known[:20] == sorted(known[:20])


@pytest.mark.parametrize("order", ["name", "kind", "place", "harvest", "amount", "state"])
def test_a_heading_sorts_and_sorts_back(visitor: Visitor, order: str) -> None:
    up, down = visitor.get(f"/shelf?order={order}"), visitor.get(f"/shelf?order=-{order}")
    assert up.soup.select("[aria-sort=ascending]")
    assert down.soup.select("[aria-sort=descending]")
    assert codes(up) != codes(down)


def test_filters_narrow_and_count(visitor: Visitor) -> None:
    page = visitor.get("/shelf?kind=courgette")
    assert page.soup.select(".packets")
    kinds = {one.select("td.x")[0].text for one in page.soup.select(".packets tbody tr")}
    assert kinds == {"Squash (Cucurbita pepo)"} or len(kinds) == 1
    none = visitor.get("/shelf?kind=parsnip&year_to=1900")
    assert "No packet answers to that" in none.text
    near = visitor.get("/shelf?words=brackwin+daple")
    assert set(names(near)) == {"Brackwin Dapple"}


def test_ticks_are_kept_over_sorting_and_paging(visitor: Visitor) -> None:
    first = codes(visitor.get("/shelf"))[0]
    page = visitor.get(f"/shelf?lot={first}&page=2")
    kept = [str(one["value"]) for one in page.soup.select("input[type=hidden][name=lot]")]
    assert kept == [first]
    again = visitor.get(f"/shelf?lot={first}")
    ticked = [str(one["value"]) for one in again.soup.select("input[name=lot][checked]")]
    assert ticked == [first]


def test_many_are_moved_at_once_and_moved_back(visitor: Visitor) -> None:
    some = codes(visitor.get("/shelf?order=name"))[:20]
    before = [place_of(visitor, code) for code in some]
    asked = visitor.get("/shelf/work?work=move&" + "&".join(f"lot={code}" for code in some))
    assert "Move 20 packets" in asked.text
    places = {one.text: str(one["value"]) for one in asked.soup.select("#place_id option")}
    done = visitor.send(asked, "/shelf/work", place_id=places["cellar"])
    assert "Moved 20 packets to cellar." in done.text
    assert {place_of(visitor, code) for code in some} == {"cellar"}
    [undo] = [one["action"] for one in done.soup.select("form[action^='/shelf/undo/']")]
    undone = visitor.send(done, str(undo))
    assert "Undone: 20 packets as before." in undone.text
    assert [place_of(visitor, code) for code in some] == before


def test_all_that_a_filter_shows_are_meant_by_one_tick(visitor: Visitor) -> None:
    told = visitor.client.get("/packets?kind=carrot").json()
    asked = visitor.get("/shelf/work?work=keepers&all=yes&kind=carrot")
    done = visitor.send(asked, "/shelf/work", other_keepers="few")
    assert f"{told['total']} packets" in done.text
    again = visitor.client.get("/packets?kind=carrot").json()
    assert {one["other_keepers"] for one in again["items"]} == {"few"}


def test_what_cant_be_done_to_all_is_done_to_none_and_tells_whom(visitor: Visitor) -> None:
    stock = visitor.client.get("/packets?sort=amount").json()["items"]
    least = [one["lot"]["code"] for one in stock[:2]]
    asked = visitor.get("/shelf/work?work=test&" + "&".join(f"lot={code}" for code in least))
    refused = visitor.send_fields(asked, "/shelf/work", {"replicates[0]": "9000"})
    assert refused.status == 422
    assert all(code in refused.text for code in least)


def test_nothing_ticked_is_said_on_the_shelf(visitor: Visitor) -> None:
    page = visitor.get("/shelf/work?work=move")
    assert page.status == 422
    assert "No packet is ticked" in page.text


def test_labels_are_made_of_those_ticked(visitor: Visitor) -> None:
    some = codes(visitor.get("/shelf"))[:3]
    page = visitor.get("/shelf/work?work=label&" + "&".join(f"lot={code}" for code in some))
    ticked = [str(one["value"]) for one in page.soup.select("input[name=lot][checked]")]
    assert sorted(ticked) == sorted(some)


def test_a_repeated_request_does_it_once(visitor: Visitor) -> None:
    code = codes(visitor.get("/shelf?order=-amount"))[60:61] or codes(visitor.get("/shelf"))[:1]
    form = {"work": "give", "lots": code, "share": 0.5}
    key = {"Idempotency-Key": "half-of-it"}
    first = visitor.client.post("/batches", json=form, headers=key)
    again = visitor.client.post("/batches", json=form, headers=key)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json()["id"] == again.json()["id"]
    assert again.headers["Idempotent-Replay"] == "true"


def test_a_form_that_names_no_packets_does_nothing(visitor: Visitor) -> None:
    asked = visitor.get("/shelf/work?work=throw-out&lot=26YPM")
    refused = visitor.send(asked, "/shelf/work", lot=None)
    assert refused.status == 422
    assert visitor.client.get("/lots/26YPM").json()["amount"]["seeds"] != 0


def test_a_place_is_added_changed_and_merged_into_another(visitor: Visitor) -> None:
    page = visitor.send(visitor.get("/shelf/place"), "/shelf/place", name="Blue tin", sealed="yes")
    assert page.status == 200
    places = {one["name"]: one for one in visitor.client.get("/places").json()["items"]}
    tin, cellar = places["Blue tin"], places["cellar"]
    assert tin["sealed"]
    address = f"/shelf/place/{tin['id']}"
    visitor.send(visitor.get(address), address, name="Green tin", temp_winter_c="4")
    changed = visitor.client.get(f"/places/{tin['id']}").json()
    assert (changed["name"], changed["temp_winter_c"], changed["sealed"]) == (
        "Green tin",
        4.0,
        True,
    )
    lots = [
        one["lot"]["code"]
        for one in visitor.client.get(f"/packets?place={cellar['id']}&limit=200").json()["items"]
    ]
    address = f"/shelf/place/{cellar['id']}"
    visitor.send(visitor.get(address), f"{address}/merge", into=tin["id"])
    assert visitor.client.get(f"/places/{cellar['id']}").status_code == 404
    assert {place_of(visitor, code) for code in lots} == {"Green tin"}


def test_work_nobody_knows_is_refused_in_words(visitor: Visitor) -> None:
    page = visitor.get("/shelf/work?work=move&lot=26YPM")
    refused = visitor.send_fields(page, "/shelf/work", {"work": "inf"})
    assert refused.status == 422
    assert "Traceback" not in refused.text
