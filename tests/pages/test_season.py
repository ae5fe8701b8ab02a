"""The front page, the season, the plan, varieties, seed crops, supplies and the record."""

from datetime import UTC, datetime

import pytest
from sqlmodel import Session, SQLModel

from seedbank.plan.tables import keep_plan_run
from tests.pages.conftest import DEMO_DAY, Page, Visitor, held
from tests.shared_answers import SHARED

YEAR = DEMO_DAY.year
BEAN, BEET, SITE = 1, 24, 1  # of the demo: Wennabeck Speckle, Tattermoss Goldcoin, a site
OPEN_CROP = 58  # Tattermoss Goldcoin, sown in 2026 to flower in 2027
HOSTILE = "<script>alert(1)</script>"


@pytest.fixture
def planned(visitor: Visitor) -> Visitor:
    """A visitor to a garden with a plan kept: the bean this year, the beet next year."""
    choices = [_choice(BEAN, YEAR), _choice(BEET, YEAR + 1)]
    now = datetime(2027, 2, 20, 13, tzinfo=UTC)
    with visitor.app.state.wiring.writing() as session:
        keep_plan_run(session, first_year=YEAR, horizon_years=3, choices=choices, now=now)
        session.commit()
    return visitor


def _choice(variety: int, year: int) -> dict[str, object]:
    crop = {"year": year, "flowers_in": year, "site_id": SITE, "way": "distance"}
    return {"variety_id": variety, "crops": [crop]}


def links(page: Page) -> list[str]:
    return [str(a["href"]) for a in page.soup.select("main a[href]")]


def counted(visitor: Visitor, name: str) -> int:
    """How many lots the season says have this verdict."""
    [link] = visitor.get("/season").soup.select(f'main a[href="/season/{name}"] strong')
    return int(link.text)


def errors(page: Page) -> list[str]:
    return [one.text for one in page.soup.select("main .error")]


def test_every_list_of_things_to_do_is_there_in_whole(visitor: Visitor) -> None:
    totals = {"running-out": 7, "stop-flowering": 2}
    for name in (*totals, "count", "grow-for-seed", "towel-first"):
        page = visitor.get(f"/season/{name}")
        assert page.status == 200
        shown = len(page.soup.select("main .sheets > li"))
        assert shown >= 1
        if name in ("grow-for-seed", "towel-first"):
            assert shown == counted(visitor, name)
        assert shown == totals.get(name, shown)
    assert "There is nothing of this to do." in visitor.get("/season/emergence").text
    assert visitor.get("/season/nothing-of-the-kind").status == 404


def test_lists_of_many_lots_come_in_parts_that_hold_every_lot_once(visitor: Visitor) -> None:
    seen: list[str] = []
    address: str | None = "/season/sow-as-usual"
    while address:
        page = visitor.get(address)
        found = page.soup.select("main .sheets > li > a:first-child")
        assert len(found) <= 40
        seen += [str(a["href"]) for a in found]
        address = next((link for link in links(page) if "after=" in link), None)
    assert len(seen) == len(set(seen)) == counted(visitor, "sow-as-usual")


def test_the_season_tells_verdicts_crops_and_what_must_not_flower(visitor: Visitor) -> None:
    page = visitor.get("/season")
    assert counted(visitor, "sow-as-usual") + counted(visitor, "grow-for-seed") > 40
    assert "Cut or pull Crakemoor Rainrib (chard) at Top Garth before 15 Jun." in page.text
    assert "Failed 17 Jan 2027" in page.text
    assert {"/plan", "/supply", "/lists", "/dates"} <= set(links(page))


def test_a_kept_plan_is_shown_as_picture_and_rows_and_begun_by_one_tap(
    planned: Visitor,
) -> None:
    page = planned.get("/plan")
    assert page.soup.select_one("main figure table") is not None
    [form] = page.soup.select('form[action="/plan/crop"]')
    sent = held(form) | {"do": "begin"}
    answer = planned.client.post("/plan/crop", data=sent)
    assert (answer.status_code, answer.url.path) == (200, "/crop/59")
    assert "Wennabeck Speckle" in answer.text
    again = planned.client.post("/plan/crop", data=sent)  # the same key: begun once
    assert again.url.path == "/crop/59"
    assert planned.get("/crop/60").status == 404
    assert "/crop/59" in links(planned.get("/plan"))


def test_a_crop_of_the_plan_is_pinned_and_the_pin_taken_out(planned: Visitor) -> None:
    [form] = planned.get("/plan").soup.select('form[action="/plan/crop"]')
    pinned = planned.client.post("/plan/crop", data=held(form) | {"do": "drop"})
    assert "You want it left out; renew the plan." in " ".join(pinned.text.split())
    page = planned.get("/plan")
    [unpin] = page.soup.select('form[action^="/plan/unpin/"]')
    after = planned.send(page, str(unpin["action"]))
    assert after.status == 200
    assert after.soup.select('form[action^="/plan/unpin/"]') == []


def test_the_horizon_of_a_plan_has_its_bounds(visitor: Visitor) -> None:
    answer = visitor.send(visitor.get("/plan"), "/plan", horizon_years=40)
    assert answer.status == 422
    assert errors(answer) == ["Give 12 or less."]


def test_a_crop_that_is_not_in_the_plan_is_not_begun(planned: Visitor) -> None:
    [form] = planned.get("/plan").soup.select('form[action="/plan/crop"]')
    sent = held(form) | {"do": "begin", "flower_year": str(YEAR + 7)}
    answer = planned.client.post("/plan/crop", data=sent)
    assert answer.status_code == 404
    assert planned.get("/crop/59").status == 404


def test_a_variety_tells_its_lots_its_crops_and_what_crosses_with_it(visitor: Visitor) -> None:
    page = visitor.get(f"/variety/{BEET}")
    assert "It crosses freely with Crakemoor Rainrib chard" in page.text
    assert {f"/variety/{BEET}/sow", f"/crop/{OPEN_CROP}", "/lot/KX7MX"} <= set(links(page))
    assert visitor.get("/variety/9999").status == 404


def test_what_is_wanted_of_a_variety_is_changed_once_and_not_over_another_change(
    visitor: Visitor,
) -> None:
    address = f"/variety/{BEET}"
    page = visitor.get(address)
    changed = visitor.send(page, address, plants_wanted=55, notes=HOSTILE)
    assert "55 plants a year" in changed.text
    assert HOSTILE in changed.text
    assert changed.soup.select("main script") == []
    late = visitor.send(visitor.get(address), address, version=1, plants_wanted=3)
    assert late.status == 412
    assert "55 plants a year" in visitor.get(address).text


def test_a_number_that_cannot_be_is_told_beside_its_field(visitor: Visitor) -> None:
    address = f"/variety/{BEET}"
    answer = visitor.send(visitor.get(address), address, plants_wanted="many")
    assert answer.status == 422
    assert answer.soup.select_one("#plants_wanted-error") is not None
    assert answer.soup.select_one("#plants_wanted[aria-invalid]") is not None


def test_what_may_cross_is_answered_for_a_site_year_and_isolation(visitor: Visitor) -> None:
    page = visitor.get(f"/variety/{BEET}/crossing")
    assert "It may cross" in page.text
    caged = visitor.send(page, f"/variety/{BEET}/crossing", isolation="bag", site_id=2)
    assert caged.status == 200
    assert "Kept from crossing by" in caged.text
    wrong = visitor.get(f"/variety/{BEET}/crossing?site_id=99&year=2027")
    assert wrong.status == 422
    assert "There is no site 99." in wrong.text


def test_a_seed_crop_goes_from_the_lot_to_a_new_lot(visitor: Visitor) -> None:
    page = visitor.get(f"/variety/{BEAN}/grow?lot=7HR4M")
    begun = visitor.send(page, f"/variety/{BEAN}/grow", isolation="cage")
    assert (begun.status, begun.address) == (200, "/crop/59")
    assert "Planned and not sown yet." in begun.text
    sown = visitor.send(begun, "/crop/59/sow", seeds_sown=30)
    assert "put up its cage" in sown.text
    assert any(link.startswith("/sowing/") for link in links(sown))
    kept = visitor.send(
        sown, "/crop/59/plants", parents_started=20, parents_rogued=2, parents_kept=15
    )
    assert "20, 2 pulled out, seed of 15" in kept.text
    doubted = visitor.send(kept, "/crop/59/harvest", amount__seeds=400, cleaning=HOSTILE)
    assert doubted.status == 422
    error = doubted.soup.select_one("#harvested_on-error")
    assert error is not None
    assert "It was sown 0 days before." in error.text
    assert "If it is so, press “Yes, so it was”." in error.text
    harvested = visitor.send(doubted, "/crop/59/harvest", confirmed="yes")
    assert harvested.address.startswith("/lot/")
    over = visitor.get("/crop/59")
    assert "harvested" in over.text
    assert HOSTILE in over.text
    assert over.soup.select("main form") == []


def test_sowing_more_than_the_lot_holds_leaves_the_crop_as_it_was(visitor: Visitor) -> None:
    page = visitor.get(f"/variety/{BEAN}/grow?lot=7HR4M")
    begun = visitor.send(page, f"/variety/{BEAN}/grow")
    answer = visitor.send(begun, "/crop/59/sow", seeds_sown=99999)
    assert answer.status in (409, 422)
    assert answer.soup.select_one("#seeds_sown-error, [role=alert]") is not None
    assert "Planned and not sown yet." in visitor.get("/crop/59").text


def test_more_plants_kept_than_raised_are_refused_beside_the_field(visitor: Visitor) -> None:
    page = visitor.get(f"/crop/{OPEN_CROP}")
    answer = visitor.send(page, f"/crop/{OPEN_CROP}/plants", parents_kept=500)
    assert answer.status == 422
    assert answer.soup.select_one("#parents_kept-error") is not None


def test_a_harvest_of_nothing_is_refused_on_the_same_page(visitor: Visitor) -> None:
    page = visitor.get(f"/crop/{OPEN_CROP}")
    answer = visitor.send(page, f"/crop/{OPEN_CROP}/harvest")
    assert answer.status == 422
    assert "Give either seeds or grams, and only one of them." in answer.text


def test_a_failed_crop_says_why_and_takes_no_more_steps(visitor: Visitor) -> None:
    page = visitor.get(f"/crop/{OPEN_CROP}")
    failed = visitor.send(page, f"/crop/{OPEN_CROP}/fail", why="voles took the roots")
    assert "voles took the roots" in failed.text
    again = visitor.send(page, f"/crop/{OPEN_CROP}/fail", why="voles took the roots")
    assert again.status == 200  # the same form sent twice books once
    late = visitor.send(page, f"/crop/{OPEN_CROP}/plants", parents_kept=5)
    assert late.status in (409, 412)


def test_a_garden_without_sites_asks_for_one_before_a_crop(visitor: Visitor) -> None:
    with visitor.app.state.wiring.writing() as session:
        _no_sites(session)
    page = visitor.get(f"/variety/{BEAN}/grow")
    grown = visitor.send(page, f"/variety/{BEAN}/site", name="Orchard end")
    assert grown.address == f"/variety/{BEAN}/grow"
    assert "Orchard end" in grown.text


def _no_sites(session: Session) -> None:
    for table in reversed(SQLModel.metadata.sorted_tables):
        on_sites = any("site" in str(key.target_fullname) for key in table.foreign_keys)
        if on_sites or table.name == "site":
            session.execute(table.delete())
    session.commit()


def test_supplies_offer_a_key_rather_than_keep_you_waiting(
    visitor: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(SHARED, "in_use", False)  # no plan of another test's is at hand
    page = visitor.get("/supply")
    assert page.form("/supply").select("button[name=work]")
    assert f"To throw out ({counted(visitor, 'can-go')})" in page.text


def test_the_record_says_calibration_in_words_with_its_uncertainty(visitor: Visitor) -> None:
    page = visitor.get("/record")
    assert page.status == 200
    assert "came up within the range that should hold nine sowings in ten" in page.text
    assert "90 % interval" in page.text
    worst = page.soup.select("main .sheets > li > a[href^='/sowing/']")
    assert 1 <= len(worst) <= 8
    assert page.soup.select("main figure table")


def test_what_must_not_flower_is_said_to_be_cut_and_then_endangers_nothing(
    visitor: Visitor,
) -> None:
    page = visitor.get("/flowering")
    assert "Cut or pull Crakemoor Rainrib (chard) at Top Garth before 15 Jun." in page.text
    [form] = [f for f in page.soup.select('form[action$="/cut"]') if "Crakemoor Rainrib" in f.text]
    cut = visitor.send(page, str(form["action"]))
    assert "Cut or pull Crakemoor Rainrib" not in cut.text
    assert "Must not flower (1)" in cut.text
    again = visitor.send(cut, str(form["action"]).replace("/cut", "/stands"))
    assert "Must not flower (2)" in again.text


def test_a_wild_relative_is_noted_and_a_fault_told_beside_its_field(visitor: Visitor) -> None:
    page = visitor.get("/flowering")
    wild = {"kind": "beet", "what": "wild", "site_id": 2, "distance_m": 40, "notes": HOSTILE}
    noted = visitor.send(page, "/flowering", **wild)
    assert (noted.status, noted.address) == (200, "/flowering")
    assert "Wild, 40 m from " in noted.text
    assert HOSTILE in noted.text
    own = visitor.send(noted, "/flowering", kind="beet", what="self-sown", distance_m=40)
    assert own.status == 422
    assert own.soup.select_one("#distance_m-error") is not None
