"""What needs doing, a seed crop grown for seed, the plan made without script, and the record."""

from playwright.sync_api import expect

from tests.pages.browser.conftest import A_PLAN_MS, Bench


def test_what_needs_doing_is_seen_with_its_reason_and_led_to(bench: Bench) -> None:
    bench.open("/")
    page = bench.page
    expect(page.locator("main")).to_contain_text("Its first count was due 5 days ago.")
    bench.shoot("now")
    page.get_by_text("more can wait").click()
    page.locator("details").get_by_role("link", name="Towel first").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Towel first")
    bench.open("/")
    page.get_by_role("link", name="Count the Overwenna Hallowroot towel").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Parsnip towel")
    expect(page.locator("main")).to_contain_text("Overwenna Hallowroot")
    assert page.url == f"{bench.root}/test/135"


def test_a_variety_to_rescue_is_grown_for_seed_in_three_taps_and_sown(bench: Bench) -> None:
    bench.open("/")
    page = bench.page
    page.get_by_role("link", name="Grow Durrow Emberroot for seed").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Grow Durrow Emberroot for seed")
    bench.shoot("grow")
    bench.press("Begin the seed crop")
    expect(page.locator("main")).to_contain_text("Planned and not sown yet.")
    page.get_by_label("Seeds sown").fill("90")
    bench.press("Record the sowing")
    expect(page.locator("main")).to_contain_text("See the plants through the winter.")
    bench.shoot("seed-crop")


def test_what_may_cross_changes_with_the_isolation_at_once(bench: Bench) -> None:
    bench.open("/variety/24/crossing?site_id=2&year=2027&purpose=keep")
    page = bench.page
    expect(page.locator("#answer")).to_contain_text("It may cross")
    page.get_by_label("Kept from crossing by").select_option("bag")
    expect(page.locator("#answer")).to_contain_text("Bags do not serve a crop pollinated by wind")
    bench.shoot("crossing")


def test_how_well_i_judge_is_read_and_seen(bench: Bench) -> None:
    bench.open("/more")
    bench.press("How well do I judge?")
    page = bench.page
    expect(page.locator("main")).to_contain_text("nine sowings in ten")
    expect(page.locator("figure svg")).to_have_count(2)
    bench.shoot("record")


def test_the_plan_is_made_and_a_crop_of_it_begun_without_script(plain_bench: Bench) -> None:
    plain_bench.open("/plan")
    page = plain_bench.page
    page.set_default_timeout(A_PLAN_MS)
    page.get_by_label("Years ahead").select_option("3")
    plain_bench.press("Make the plan")
    expect(page.get_by_role("heading", name="What would help")).to_be_visible(timeout=A_PLAN_MS)
    plain_bench.shoot("plan-plain")
    page.get_by_role("button", name="Begin it (Brackwin Dapple)").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Seed crop of Brackwin Dapple")
