"""Feet, ounces and degrees Fahrenheit by setting: shown, typed, and kept in metric."""

import pytest
from playwright.sync_api import expect

from tests.pages.browser.conftest import Bench

LOT = "26YPM"  # Crakemoor Tall: 460 seeds


def test_what_is_typed_in_feet_ounces_and_fahrenheit_is_kept_in_metric(bench: Bench) -> None:
    bench.start()
    page = bench.page
    bench.press("More")
    bench.press("Units and dates")
    bench.reached("Units and dates")
    page.get_by_label("feet, inches, ounces, °F").check()
    page.get_by_label("2027-02-20").check()
    bench.shoot("job-units")
    bench.press("Keep")

    bench.start(find=LOT)
    expect(page.locator("#amount")).to_contain_text(" oz")
    assert " g" not in page.inner_text("#amount")
    bench.press("Sow")
    page.get_by_label("Plants wanted").fill("20")
    page.get_by_label("Soil temperature (°F)").fill("59")
    page.get_by_text("Spacing, your hand").click()
    page.get_by_label("Length of row (ft)").fill("10")
    page.get_by_label("Final spacing (in)").fill("2.5")
    answer = page.locator("#answer")
    expect(answer).to_contain_text("20 wanted")
    expect(answer).to_contain_text("Thin to 2.5 in")
    expect(answer).to_contain_text("a foot")
    expect(answer).to_contain_text("Up after")
    for metric in (" cm", " °C", " a metre"):
        assert metric not in answer.inner_text()
    bench.shoot("job-sow-in-feet")
    bench.press("Sown today")
    bench.reached("sown 2027-02-20")
    held = bench.record("/sowings/" + page.url.split("/sowing/")[1].split("?")[0])
    assert held["soil_temp_c"] == pytest.approx(15)
    assert held["row_m"] <= 10 * 0.3048 + 1e-9

    bench.start(find=LOT)
    bench.press("Count it")
    page.get_by_label("or weighed (oz)").fill("4")
    bench.press("Book this count")
    expect(page.locator(".done")).to_contain_text("Counted")
    # An ounce is 28.349523125 g (international avoirdupois pound of 1959, 0.45359237 kg).
    weighed = bench.record(f"/lots/{LOT}/movements")["items"][-1]
    assert (weighed["reason"], weighed["grams"]) == ("stock-take", pytest.approx(113.398, abs=1e-3))
    bench.shoot("job-weighed-in-ounces")
