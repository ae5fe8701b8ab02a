"""A packet taken in."""

import pytest

from tests.pages.conftest import Visitor, held
from tests.pages.lot_pages import error_of
from tests.use_cases.lots.photographed import picture

PACKET = {
    "kind": "carrot",
    "variety": "Dusk Finger",
    "donor": "the spring swap",
    "dated": "harvest_year",
    "year": "2025",
    "much": "seeds",
    "amount.seeds": "300",
    "notes": "thin packet",
}


def test_a_packet_of_a_new_variety_goes_to_its_lot_and_offers_its_label(visitor: Visitor) -> None:
    done = visitor.send_fields(visitor.get("/take-in"), "/take-in", PACKET)
    assert done.status == 200
    assert done.soup.h1 is not None
    assert "Dusk Finger" in done.soup.h1.text
    assert "300 seeds came in" in done.text
    code = done.address.removeprefix("/lot/")
    assert "the first packet of Dusk Finger here" in done.text
    label = done.soup.select("div.done a")[-1]
    assert (label.text, label["href"]) == ("Print its label", f"/labels?lot={code}")
    again = visitor.get("/take-in?kind=carrot")
    known = {one["value"] for one in again.soup.select("#varieties option")}
    assert "Dusk Finger" in known
    assert "Crakemoor Tall" not in known  # of another kind


def test_sent_twice_it_is_one_packet(visitor: Visitor) -> None:
    page = visitor.get("/take-in")
    first = visitor.send_fields(page, "/take-in", PACKET)
    assert visitor.send_fields(page, "/take-in", PACKET).address == first.address
    assert len(visitor.get("/find?words=Dusk+Finger").soup.select("#answer .sheets > li")) == 1


def test_a_fault_keeps_what_was_typed_and_adds_nothing(visitor: Visitor) -> None:
    for typed, field, said in (
        ({"kind": "carot"}, "kind", "Perhaps carrot?"),
        ({"kind": ""}, "kind", "what kind of plant"),
        ({"year": "2031"}, "year", "2027 or earlier"),
        ({"year": "last"}, "year", "four digits"),
        ({"variety": " "}, "variety", "has to be given"),
        ({"new_place.name": "cellar"}, "new_place-name", "already is a place"),
    ):
        page = visitor.send_fields(visitor.get("/take-in"), "/take-in", PACKET | typed)
        assert page.status in (409, 422)
        assert said in error_of(page, field)
        assert page.soup.select("#notes")[0].text == "thin packet"
    assert "Nothing found" in visitor.get("/find?words=Dusk+Finger").text


def test_saved_seed_names_its_parents_and_a_new_place(visitor: Visitor) -> None:
    saved = {
        "variety": "Crakemoor Tall",
        "origin": "self-saved",
        "dated": "harvest_year",
        "year": "2026",
        "much": "grams",
        "amount.grams": "40",
        "parents": "26ypm, RH82P",
        "seed_parents": "24",
        "isolation": "cage",
        "purity": "isolated",
        "new_place.name": "Blue tin",
        "new_place.sealed": "yes",
    }
    done = visitor.send_fields(visitor.get("/take-in"), "/take-in", saved)
    assert done.status == 200
    assert "seeds harvested" in done.text
    assert "Blue tin" in done.soup.select("#kept")[0].text
    lot = visitor.client.get(f"/lots/{done.address.removeprefix('/lot/')}").json()
    assert lot["parents"] == ["RH82P", "26YPM"]
    assert (lot["seed_parents"], lot["isolation"], lot["purity"]) == (24, "cage", "isolated")


def test_another_packet_of_a_variety_is_begun_by_its_address(visitor: Visitor) -> None:
    page = visitor.get("/take-in?kind=pea&variety=Crakemoor+Tall")
    assert page.soup.select("#variety")[0]["value"] == "Crakemoor Tall"


def test_a_kind_not_listed_takes_one_form_and_goes_on_to_its_packet(visitor: Visitor) -> None:
    page = visitor.get("/kind/new?name=Oca")
    typed = {"kept_as": "tubers", "keeps_years": "0,8", "poisonous": "no"}
    wrong = visitor.send_fields(page, "/kind/new", {**typed, "fact-depth_cm": "deep"})
    assert (wrong.status, "Give a number from 0 to 50" in wrong.text) == (422, True)
    done = visitor.send_fields(page, "/kind/new", {**typed, "fact-depth_cm": "8"})
    assert done.soup.select_one("#kind")["value"] == "oca"
    packet = {"variety": "Pale Thumb", "much": "seeds", "amount.seeds": "12"}
    assert visitor.send_fields(done, "/take-in", packet).status == 200


def test_who_else_keeps_a_new_variety_is_asked_and_answered_for_many_at_once(
    visitor: Visitor,
) -> None:
    assert "on record of every variety" in visitor.get("/rarity").text
    visitor.send_fields(visitor.get("/take-in"), "/take-in", PACKET)
    page = visitor.get("/rarity")
    (asked,) = page.soup.select("select")
    done = visitor.send_fields(page, "/rarity", {str(asked["name"]): "few"})
    assert "on record of every variety" in done.text


def test_lots_are_mixed_by_seeds_or_by_shares(visitor: Visitor) -> None:
    page = visitor.get("/mix?lot=YMY4K")
    assert page.soup.select('[name="parts[0].lot"]')[0]["value"] == "YMY4K"
    held = visitor.client.get("/lots/26YPM").json()["amount"]["seeds"]
    typed = {"variety": "Winter mix", "parts[0].amount.seeds": 30, "parts[1].lot": "26YPM"}
    made = visitor.send_fields(page, "/mix", typed | {"parts[1].amount.seeds": 10})
    assert made.status == 200
    assert "Winter mix" in made.text
    assert "75 % of the seeds" in made.text
    assert visitor.client.get("/lots/26YPM").json()["amount"]["seeds"] == held - 10
    shares = {"parts[0].share": 60, "parts[1].lot": "26YPM", "parts[1].share": "30 %"}
    typed = {"variety": "Winter mix", "seeds": 20}
    refused = visitor.send_fields(visitor.get("/mix?lot=YMY4K"), "/mix", typed | shares)
    assert refused.status == 422
    assert "they must come to 100" in refused.text
    again = visitor.send_fields(refused, "/mix", {"parts[1].share": "40"})
    assert "60 % of the seeds" in again.text


def test_a_mixture_is_sown_by_what_comes_up_of_its_parts(visitor: Visitor) -> None:
    page = visitor.get("/mix?lot=YMY4K")
    typed = {"variety": "Winter mix", "parts[0].amount.seeds": 300, "parts[1].lot": "26YPM"}
    made = visitor.send_fields(page, "/mix", typed | {"parts[1].amount.seeds": 40})
    [link] = [str(one["href"]) for one in made.soup.select("nav.keys a") if one.text == "Sow"]
    assert link.endswith("/sow-mixture")
    told = visitor.get(f"{link}?plants=25&method=row")
    code = link.split("/")[2]
    asked = {"plants": 25, "method": "row"}
    found = visitor.client.get(f"/lots/{code}/mixture-sowing", params=asked).json()
    assert f"Sow {found['seeds']} seeds" in told.text
    assert found["parts"][0]["lot"] == "YMY4K"
    assert visitor.get("/lot/YMY4K/sow-mixture").address == "/lot/YMY4K/sow"


def test_place_giver_and_year_are_carried_to_the_next_packet(visitor: Visitor) -> None:
    page = visitor.get("/take-in")
    place = str(page.soup.select("#place_id option")[1]["value"])
    typed = {"kind": "zucchini", "variety": "Invented Lantern", "origin": "swapped"}
    dated = {"dated": "harvest_year", "year": "2025"}
    more = {"donor": "Orla", **dated, "place_id": place, "next": "yes"}
    following = visitor.send_fields(page, "/take-in", typed | more)
    assert "Added: Invented Lantern" in following.text
    kept = following.form("/take-in")
    assert kept.select("#donor")[0]["value"] == "Orla"
    assert kept.select("#year")[0]["value"] == "2025"
    assert kept.select("[name=dated][checked]")[0]["value"] == "harvest_year"
    assert kept.select("#place_id option[selected]")[0]["value"] == place
    assert kept.select("#origin option[selected]")[0]["value"] == "swapped"
    assert kept.select("#variety")[0]["value"] == ""


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("courgette", "Courgette, filed under squash, marrow and courgette"),
        ("zucchini", "Zucchini, filed under squash, marrow and courgette"),
        ("sweetcorn", "Sweetcorn. Wrong?"),
        ("chili", "filed under"),
        ("French bean", "French bean, filed under common bean"),
        ("bell pepper", "Bell pepper, filed under pepper"),
        ("Phaseolus vulgaris", "filed under common bean"),
    ],
)
def test_everyday_and_botanical_names_are_taken_and_told(
    visitor: Visitor, typed: str, said: str
) -> None:
    page = visitor.get(f"/take-in?kind={typed}")
    got = page.soup.select_one("#got")
    assert got is not None
    assert said in " ".join(got.text.split())
    assert "Wrong? Change it" in got.text
    taken = visitor.send_fields(page, "/take-in", {"variety": "Invented Lantern"})
    assert taken.status == 200
    assert "Invented Lantern" in taken.text


def test_a_name_of_several_kinds_or_none_offers_the_nearest_and_something_new(
    visitor: Visitor,
) -> None:
    for typed, chips in (("squash", 3), ("carot", 2), ("qqqq", 0)):
        page = visitor.get(f"/take-in?kind={typed}")
        assert len(page.soup.select("#got button")) == chips
        [new] = page.soup.select("#got a.chip")
        assert (new.text, new["href"]) == ("Something new", f"/kind/new?name={typed}")
    page = visitor.get("/take-in?kind=squash&notes=of+my+aunt")
    chosen = visitor.send_fields(page, "/take-in", {"took": "winter squash (maxima)"})
    assert chosen.soup.select("#kind")[0]["value"] == "winter squash (maxima)"
    assert chosen.soup.select("#notes")[0].text == "of my aunt"
    assert visitor.get("/find?words=of+my+aunt").soup.select("#answer .sheets > li") == []


def test_an_onion_called_spring_is_a_spring_onion_unless_that_is_said_to_be_wrong(
    visitor: Visitor,
) -> None:
    kinds = []
    said = (("White spring", ""), ("Tall", "a bunching onion"), ("Winter Globe", ""))
    for variety, notes in said:
        page = visitor.get(f"/take-in?kind=onion&variety={variety}&notes={notes}")
        told = page.soup.select_one("#got").text  # type: ignore[union-attr]
        assert ("since its name or note says so" in told) == (variety != "Winter Globe")
        done = visitor.send_fields(page, "/take-in", {})
        lot = visitor.client.get(f"/lots/{done.address.removeprefix('/lot/')}").json()
        kinds.append(lot["variety"]["kind"])
    assert kinds == ["welsh-onion", "welsh-onion", "onion"]
    page = visitor.get("/take-in?kind=onion&variety=Red+spring")
    wrong = visitor.send_fields(page, "/take-in", {"took": "onion"})
    done = visitor.send_fields(wrong, "/take-in", {})
    lot = visitor.client.get(f"/lots/{done.address.removeprefix('/lot/')}").json()
    assert lot["variety"]["kind"] == "onion"


@pytest.mark.parametrize(
    ("much", "amount", "note"),
    [
        ({}, {"seeds": None, "grams": None}, ""),
        ({"much": "half"}, {"seeds": None, "grams": None}, "about half a packet left"),
        ({"much": "seeds", "amount.seeds": "40"}, {"seeds": 40}, ""),
    ],
)
def test_an_amount_is_taken_as_people_have_it(
    visitor: Visitor, much: dict[str, str], amount: dict[str, int | None], note: str
) -> None:
    page = visitor.get("/take-in?kind=carrot")
    done = visitor.send_fields(page, "/take-in", {"variety": "Dusk Finger", **much})
    code = done.address.removeprefix("/lot/")
    lot = visitor.client.get(f"/lots/{code}").json()
    assert {name: lot["amount"][name] for name in amount} == amount
    [movement] = visitor.client.get(f"/lots/{code}/movements").json()["items"]
    assert movement["note"] == note
    both = {"variety": "Dusk Finger", "much": "packet", "amount.seeds": "12"}
    assert "12 is typed" in visitor.send_fields(page, "/take-in", both).text


@pytest.mark.parametrize(
    ("dated", "field", "value"),
    [
        ({"dated": "sow_by", "month": "2", "year": "2028"}, "sow_by", "2028-02-29"),
        ({"dated": "sow_by", "year": "2028"}, "sow_by", "2028-12-31"),
        ({"dated": "packed_on", "month": "11", "year": "2026"}, "packed_on", "2026-11"),
        ({"dated": "packed_on", "year": "2026"}, "packed_on", "2026"),
        ({"dated": "harvest_year", "year": "2025"}, "harvest_year", 2025),
        ({"dated": "none", "year": "2025"}, "harvest_year", None),
    ],
)
def test_the_date_on_the_packet_is_what_its_chip_says(
    visitor: Visitor, dated: dict[str, str], field: str, value: object
) -> None:
    typed = {"kind": "carrot", "variety": "Dusk Finger", **dated}
    done = visitor.send_fields(visitor.get("/take-in"), "/take-in", typed)
    lot = visitor.client.get(f"/lots/{done.address.removeprefix('/lot/')}").json()
    assert lot[field] == value
    others = {"sow_by", "packed_on", "harvest_year"} - {field}
    assert [lot[name] for name in others] == [None, None]


def test_packets_added_are_listed_and_each_is_undone_by_its_key(visitor: Visitor) -> None:
    page = visitor.get("/take-in")
    for name in ("Dusk Finger", "Dawn Finger"):
        typed = {"kind": "carrot", "variety": name, "next": "yes"}
        page = visitor.send_fields(page, "/take-in", typed)
    assert "Added so far: 2" in page.text
    rows = page.soup.select("#so-far + ul li")
    assert [row.b.text for row in rows if row.b] == ["Dawn Finger", "Dusk Finger"]
    form = rows[1].select_one("form")
    assert form is not None
    sent = {str(one["name"]): str(one["value"]) for one in form.select("input")}
    for _ in range(2):  # sent twice it is undone once
        answer = visitor._page(visitor.client.post("/take-in/undo", data=sent))
        assert "Added so far: 1" in answer.text
        assert "holds nothing now" in answer.text
    lot = visitor.client.get(f"/lots/{sent['lot']}").json()
    assert lot["amount"]["seeds"] == 0


def test_a_photograph_comes_with_its_packet_or_neither_does(visitor: Visitor) -> None:
    for photo, status in ((b"no picture", 422), (picture(), 200)):
        page = visitor.get("/take-in?kind=carrot&variety=Dusk+Finger")
        files = {"photo": ("packet.jpg", photo, "image/jpeg")}
        answer = visitor.client.post("/take-in", data=held(page.form("/take-in")), files=files)
        assert answer.status_code == status
        lots = visitor.client.get("/lots?q=dusk+finger").json()["items"]
        assert len(lots) == (status == 200)
    assert visitor.client.get(f"/lot/{lots[0]['code']}/photo.jpg").status_code == 200
