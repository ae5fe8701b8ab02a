"""A packet taken in."""

from tests.pages.conftest import Visitor
from tests.pages.lot_pages import error_of

PACKET = {
    "kind": "carrot",
    "variety": "Dusk Finger",
    "donor": "the spring swap",
    "harvest_year": "2025",
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
    assert "the first lot of Dusk Finger here" in done.text
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
        ({"harvest_year": "2031"}, "harvest_year", "2027 or earlier"),
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
        "harvest_year": "2026",
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
    packet = {"variety": "Pale Thumb", "amount.seeds": "12"}
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
    more = {"donor": "Orla", "harvest_year": "2025", "place_id": place, "next": "yes"}
    following = visitor.send_fields(page, "/take-in", typed | more)
    assert "Taken in: lot" in following.text
    kept = following.form("/take-in")
    assert kept.select("#donor")[0]["value"] == "Orla"
    assert kept.select("#harvest_year")[0]["value"] == "2025"
    assert kept.select("#place_id option[selected]")[0]["value"] == place
    assert kept.select("#origin option[selected]")[0]["value"] == "swapped"
    assert kept.select("#variety")[0]["value"] == ""
