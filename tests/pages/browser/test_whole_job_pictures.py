"""What is seen rather than read: a lot's life, its line, the plan's years, how well one judges."""

import re

from playwright.sync_api import Locator, expect

from tests.pages.browser.conftest import A_PLAN_MS, Bench

LOT = "7HR4M"  # Wennabeck Speckle, saved here for three generations


def rows(figure: Locator) -> list[list[str]]:
    """The table beside a picture, opened."""
    figure.get_by_text("The same as a table").click()
    expect(figure.locator("table")).to_be_visible()
    lines = figure.locator("tbody tr").all()
    return [line.locator("td").all_inner_texts() for line in lines]


def seen(figure: Locator) -> None:
    """The picture is there, drawn, and told in words to who can't see it."""
    picture = figure.get_by_role("img")
    picture.scroll_into_view_if_needed()
    expect(picture).to_be_visible()
    assert len(picture.get_attribute("aria-label") or "") > 40
    assert len(figure.locator("figcaption").inner_text()) > 40


def test_a_lots_life_is_seen_and_told_point_by_point(bench: Bench) -> None:
    bench.start(find=LOT)
    bench.reached("Wennabeck Speckle")
    figure = bench.page.locator("#life")
    drawn = figure.get_by_role("img")
    expect(drawn).to_be_visible()
    assert len(drawn.locator("title").text_content() or "") > 40
    letters = drawn.locator("text").evaluate_all(
        "all => all.map(one => parseFloat(getComputedStyle(one).fontSize) * one.getCTM().a)"
    )
    assert letters
    assert min(letters) >= 13.0  # 14 where the page is 360 wide without a scroll bar
    bench.shoot("job-life")
    life = bench.record(f"/lots/{LOT}/viability")
    told = rows(figure)
    tested = [line for line in told if line[1].startswith("test")]
    assert [line[2] for line in tested] == [
        f"{one['viability']['pct']:.0f}\N{NO-BREAK SPACE}%" for one in life["tests"]
    ]
    today = next(line for line in told if line[1].startswith("today"))
    assert today[0] == "20 Feb 2027"
    assert today[2].startswith(f"{life['now']['median_pct']:.0f}")
    for limit in life["thresholds"]:
        assert any(f"{limit['threshold_pct']:.0f}" in " ".join(line) for line in told)


def test_a_lots_line_leads_back_to_its_founders(bench: Bench) -> None:
    bench.start(find=LOT)
    page = bench.page
    page.get_by_text("All it has been through").click()
    expect(page.get_by_role("heading", name="Its line")).to_be_visible()
    line = page.locator(".pedigree")
    ancestors = set(line.get_by_role("link").all_inner_texts())
    held = {step["lot"] for step in bench.record(f"/lots/{LOT}/drift")["line"]}
    assert ancestors == held - {LOT}
    assert len(ancestors) == 3
    bench.tap(line.get_by_role("link").last)
    bench.reached("Wennabeck Speckle")
    expect(page.locator(".facts")).to_contain_text("Orla Fenwythe, the Old Mill")
    bench.shoot("job-founder")


def test_the_plan_is_made_and_seen_as_years_by_varieties(bench: Bench) -> None:
    bench.start()
    page = bench.page
    bench.press("Season")
    bench.shoot("job-season")
    bench.press("Plan of seed crops")
    bench.reached("Plan of seed crops")
    page.get_by_label("Years ahead").select_option("3")
    page.set_default_timeout(A_PLAN_MS)
    bench.press("Make the plan")
    expect(page.get_by_role("heading", name="What would help")).to_be_visible(timeout=A_PLAN_MS)
    figure = page.locator("figure")
    seen(figure)
    told = rows(figure)
    bench.shoot("job-plan")
    plan = bench.record("/saving-plan?horizon_years=3")
    crops = plan["this_year"] + [one for year in plan["later"] for one in year["sow"]]
    assert crops
    assert sorted((line[0].rsplit(" (", 1)[0], line[1], line[2]) for line in told) == sorted(
        (one["variety"]["name"], str(one["sow_in"]), str(one["flowers_in"])) for one in crops
    )


def test_how_well_one_judges_is_three_taps_away(bench: Bench) -> None:
    bench.start()
    bench.press("More")
    bench.press("How well do I judge?")
    bench.reached("How well do I judge?")
    figures = bench.page.locator("figure")
    expect(figures).to_have_count(2)
    for figure in figures.all():
        seen(figure)
    record = bench.record("/forecast-record")
    share = re.search(r"(\d+) % \(\d+–\d+ %\) came up within the range", bench.said)
    assert share is not None
    assert f"Over {record['sowings']} sowings" in bench.said
