"""A lot's years: tests, sowings, gifts, stock-takes and the compost heap, in date order."""

from datetime import date, timedelta

from demo_life import Life
from demo_sowings import sow, sowing_day
from demo_story import DONORS
from demo_tests import run_test


def live(life: Life, seed_years: list[int]) -> None:
    """Let everything in the story happen in date order, the sowings for seed included."""
    lot, random = life.lot, life.random
    happenings: list[tuple[date, str, str]] = []
    for year, letters in lot.tests:
        autumn = "w" in letters
        month, day = (2, 9) if "o" in letters else (2, random.randint(1, 12))
        on = life.came_on + timedelta(days=40) if autumn else date(year, month, day)
        on = max(on, life.came_on + timedelta(days=2))
        happenings.append((on, "test", letters))
    for year, letters in sorted({(y, "") for y in seed_years} | set(lot.sowings)):
        happenings.append((sowing_day(life.kind, year, random), "sow", letters))
    for year, who in lot.gifts:
        happenings.append((date(year, 11, 14), "give", who))
    if lot.count_on:
        happenings.append((lot.count_on, "count", ""))
    if lot.discard_on:
        happenings.append((lot.discard_on, "discard", ""))
    for on, what, letters in sorted(happenings):
        if what == "test":
            run_test(life, on, letters)
        elif what == "sow":
            sow(life, on, letters, for_seed=on.year in seed_years)
        elif what == "give":
            life.move(on, "given", max(10, life.held // 8), f"to {DONORS[letters]}")
        elif what == "count":
            life.move(on, "stock-take", round(life.held * random.uniform(0.85, 0.98)))
        else:
            life.move(on, "discarded", life.held, "newer seed is better; fed to the hens")
