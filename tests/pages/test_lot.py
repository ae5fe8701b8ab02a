"""The lot at the bench."""

import pytest

from tests.pages.conftest import Visitor


def test_the_page_says_what_how_much_where_and_how_alive_it_is(visitor: Visitor) -> None:
    page = visitor.get("/lot/PR0K9")
    assert page.status == 200
    assert page.soup.h1 is not None
    assert "Yaffelby Thimble" in page.soup.h1.text
    for said in (
        "152 seeds, 38 g",
        "Enough for 2.4 rows of 3 m",
        "fridge, sealed jars",
        "harvested 7 Sept 2020",
        "alive today",
        "likely 85 to 97",
        "Saved here, from 12 plants",
    ):
        assert said in page.text
    assert len(page.soup.select("ul.pedigree li")) == 2
    picture = page.soup.select("#life svg title")[0]
    assert "92 % alive on 20 Feb 2027" in picture.text
    assert len(page.soup.select("#life details tbody tr")) > 5


def test_a_packet_opens_with_one_sign_of_its_state_in_nine_words_at_most(visitor: Visitor) -> None:
    lots = visitor.client.get("/lots", params={"limit": 100}).json()["items"]
    states = set()
    for lot in lots[::4]:
        told = visitor.client.get(f"/lots/{lot['code']}/verdict").json()
        soup = visitor.get(f"/lot/{lot['code']}").soup
        [sign] = soup.select(".sign")
        sentence = sign.select(".said")[0].text
        assert len(sentence.split()) <= 9, sentence
        assert sign.sourceline is not None
        assert sign.sourceline < soup.select("nav.keys")[0].sourceline
        if told["verdict"]:
            assert f"c-{told['verdict']}" in sign["class"]
            states.add(told["verdict"])
        else:
            assert sentence == "None is left."
    assert len(states) > 3


def test_cautions_are_told_once(visitor: Visitor) -> None:
    for code in ("M1PH7", "92H6X", "PR0K9"):
        told = visitor.client.get(f"/lots/{code}").json()["cautions"]
        page = visitor.get(f"/lot/{code}")
        assert len(page.soup.select(".caution")) == len(told)
        assert f"Cautions ({len(told)})" in page.text


def test_every_key_leads_to_a_page(visitor: Visitor) -> None:
    page = visitor.get("/lot/PR0K9")
    keys = [str(one["href"]) for one in page.soup.select("nav.keys a")]
    assert [key.rpartition("/")[2] for key in keys[:4]] == ["sow", "test", "give", "move"]
    assert len(keys) == 10
    for key in keys:
        assert visitor.get(key).status == 200, key


def test_cautions_of_a_treated_lot_are_open(visitor: Visitor) -> None:
    page = visitor.get("/lot/92H6X")
    [fold] = [one for one in page.soup.select("details") if one.select(":scope > div > .caution")]
    assert fold.has_attr("open")
    assert page.soup.select(".caution")[0].text.startswith("Caution.")
    assert "treated" in page.soup.select(".caution")[0].text.lower()


def test_however_the_code_is_typed_there_is_one_address(visitor: Visitor) -> None:
    assert visitor.get("/lot/pr-0k9").address == "/lot/PR0K9"
    answer = visitor.client.get("/lot/pro k9?movement=1", follow_redirects=False)
    assert answer.headers["location"] == "/lot/PR0K9?movement=1"


@pytest.mark.parametrize(
    ("typed", "slip"),
    [
        ("PR1K9", "if the third character is wrong"),
        ("RP0K9", "if the first character and the next have changed places"),
        ("PR09", "if the fourth character is left out"),
    ],
)
def test_a_misread_code_says_which_character_may_be_wrong(
    visitor: Visitor, typed: str, slip: str
) -> None:
    page = visitor.get(f"/lot/{typed}")
    assert page.status == 422
    assert f"PR0K9 , {slip}" in page.text


def test_a_code_of_no_lot_is_not_found(visitor: Visitor) -> None:
    page = visitor.get("/lot/00000000")
    assert page.status == 422
    assert "Read the code on the packet again" in page.text
    assert visitor.get("/lot/PR0K9?movement=999").status == 404


def test_a_packet_of_a_variety_with_other_lots_is_not_called_its_first(visitor: Visitor) -> None:
    assert "the first lot of" not in visitor.get("/lot/PR0K9?movement=1").text


def test_seed_that_cannot_be_stored_has_its_own_words_and_no_band(visitor: Visitor) -> None:
    fresh, old = visitor.get("/lot/3W3R8"), visitor.get("/lot/H889P")
    for page in (fresh, old):
        assert "This kind's seed doesn't keep: sow it fresh or hand it on." in page.text
        assert "% alive" not in page.text
        assert page.soup.select("#life") == []
        assert "Test it" not in page.text
        assert "of a sowing" not in page.text
        assert "Sow as usual" not in page.text
    assert "Last chance" in fresh.soup.select(".sign .word")[0].text
    assert "it is taken for dead" in old.text
    assert "it is taken for dead" in visitor.get("/lot/H889P/sow").text
    variety = str(fresh.soup.select("a[href^='/variety/']")[0]["href"])
    assert "Sow thicker" not in visitor.get(variety).text
    found = visitor.get("/find?words=Beckside+Old+Hollow").text
    assert "% alive" not in found
    assert "Last chance" in found


def test_an_empty_lot_is_not_to_be_tested_sown_or_thrown_out(visitor: Visitor) -> None:
    page = visitor.get("/lot/2H6KK")
    assert "None is left" in page.text
    assert "Test it" not in page.text
    assert "test has been due" not in page.text
    assert "Today" not in page.text
    links = {str(one["href"]) for one in page.soup.select("main a[href]")}
    assert not links & {f"/lot/2H6KK/{what}" for what in ("sow", "test", "give", "discard")}
    assert {f"/lot/2H6KK/{what}" for what in ("receive", "count")} <= links


def test_cautions_stand_together_the_gravest_first(visitor: Visitor) -> None:
    page = visitor.get("/lot/M1PH7")
    cautions = page.soup.select("main .caution")
    assert len({id(one.parent) for one in cautions}) == 1
    grave = ["A doctor or poison centre decides" in one.text for one in cautions]
    assert grave == sorted(grave, reverse=True)


def test_the_page_says_when_to_test_by_a_day_to_come_or_one_gone_by(visitor: Visitor) -> None:
    assert "Test it again by 5 Feb 2036" in visitor.get("/lot/M1PH7").text
    assert "Test it by 19 Sept 2027" in visitor.get("/lot/3P7X8").text


def test_a_mixture_tells_its_parts_and_is_not_judged(visitor: Visitor) -> None:
    told = visitor.client.get("/lots/PR0K9").json()
    parts = [{"lot": code, "amount": {"seeds": 10}} for code in ("PR0K9", "92H6X")]
    form = {"variety_id": told["variety"]["id"], "parts": parts}
    made = visitor.client.post("/lots/mixtures", json=form, headers={"Idempotency-Key": "k" * 20})
    assert made.status_code == 201, made.text
    page = visitor.get(f"/lot/{made.json()['code']}")
    assert page.status == 200
    for said in (
        "Not judged as seed",
        "A mixture: sow it, or let it go.",
        "50 % of the seeds",
        "alive, all together",
        "PR0K9",
        "92H6X",
    ):
        assert said in page.text
    for key in page.soup.select("nav.keys a"):
        assert visitor.get(str(key["href"])).status == 200, key
