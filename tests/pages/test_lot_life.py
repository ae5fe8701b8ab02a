"""A lot's life drawn: words clear of lines and of one another, and all of it told in rows."""

from datetime import date, timedelta

import numpy as np
import pytest

from seedbank.common.answers import PercentAnswer, VarietyBrief, ViabilityPoint
from seedbank.common.local_format import Local
from seedbank.lots.answers import PlaceBrief, StayAnswer
from seedbank.lots.pages.lot_life_figure import HEIGHT, WIDTH, LifeFigure, draw_lot_life
from seedbank.lots.tables.lots import Purity
from seedbank.science.quantities import Finding
from seedbank.verdicts.answers import RowsAnswer, VerdictAnswer
from seedbank.viability.answers import (
    RetestAnswer,
    TestSeen,
    ThresholdAnswer,
    ViabilityAnswer,
)
from seedbank.viability.show_viability import EQUATION_SOURCES
from seedbank.web.lettering import Box, Word, along

TODAY = date(2027, 2, 20)
HOSTILE = 'Zoë "<script>alert(1)</script>" & $x^2$ \x00\u202e café 🥕'


def held(pct: float) -> PercentAnswer:
    return PercentAnswer(pct=pct, low_pct=pct - 8, high_pct=min(pct + 6, 100), level_pct=90)


def point(year: int, pct: float) -> ViabilityPoint:
    return ViabilityPoint(
        on=date(year, 2, 20), median_pct=pct, low_50_pct=pct - 4, high_50_pct=pct + 4,
        low_90_pct=pct - 9, high_90_pct=min(pct + 8, 100),
    )  # fmt: skip


def viability(name: str = "Purple Lantern", *, tests: bool = True) -> ViabilityAnswer:
    curve = [point(year, 92 - 3.0 * (year - 2022)) for year in range(2022, 2038)]
    threshold = {"probability_at_least": 0.8, "crossed_by_5_in_100": date(2026, 1, 1)}
    seen = TestSeen(
        started_on=date(2025, 3, 1), viable_seeds=41, judged_seeds=50, viability=held(82),
        worth_seeds=40, went_wrong=False,
    )  # fmt: skip
    return ViabilityAnswer(
        recalled_share=0.0, mixture=None, contradiction=None,
        lot="4K7PM", variety=VarietyBrief(id=1, name=name, kind="carrot"), purity=Purity.UNKNOWN,
        purity_note="", now=curve[5], at_harvest=curve[0], curve=curve,
        thresholds=[
            ThresholdAnswer.of(Finding(code), name=code, threshold_pct=pct, crossed_by_median=None,
                               crossed_by_95_in_100=None, **threshold)
            for code, pct in (("threshold-legal-minimum", 65.0), ("threshold-regeneration", 70.0))
        ],
        tests=[seen] if tests else [],
        retest=RetestAnswer.of(Finding("retest-fleeting"), due_on=None, source=EQUATION_SOURCES[0]),
        age_years=5, dose=0.5, reasons=[], warnings=[], to_narrow=[], cautions=[], sources=[],
    )  # fmt: skip


STAYS = [
    StayAnswer(lot="4K7PM", place=PlaceBrief(id=1, name="Shed"), from_date=date(2022, 2, 20),
               until=date(2024, 6, 1), sealed_anew=False),
    StayAnswer(lot="4K7PM", place=PlaceBrief(id=2, name=HOSTILE), from_date=date(2024, 6, 1),
               until=None, sealed_anew=False),
]  # fmt: skip


AT_LEVELS = VerdictAnswer.model_construct(
    worth=None,
    in_rows=RowsAnswer(rows=2.0, seeds_a_row=300, times_usual=1.0, crop_pct=90.0,
                       thicker_below_pct=70.4, fresh_below_pct=43.0),
)  # fmt: skip


def points(drawn: str) -> list[tuple[float, float]]:
    pairs = (one.split(",") for one in drawn.split())
    return [(float(x), float(y)) for x, y in pairs]


def test_a_lots_life_tells_its_limits_and_moves_in_rows() -> None:
    figure = draw_lot_life(viability(), STAYS, TODAY, Local())
    assert {len(row) for row in figure.rows} == {len(figure.header)}
    whats = [row[1] for row in figure.rows]
    assert "test: 41 of 50 alive" in whats
    assert any(what.startswith("a: moved to ") for what in whats)
    assert "falls under the least for sale" in whats
    # What is past isn't told as to come.
    assert "expected" not in [row[1] for row in figure.rows if row[0].endswith(" 2026")]
    days = [row[0] for row in figure.rows]
    assert days.index("1 Mar 2025") > days.index("1 Jun 2024")  # in order of time
    assert "77 % alive on 20 Feb 2027" in figure.alt
    assert "half of it will be dead in 2036" in figure.alt
    assert figure.heading.text == "today: 77 % alive"
    assert {"41 of 50", "half alive in 2036"} <= {one.text for one in figure.words}


def test_a_limit_fallen_through_is_told_as_past() -> None:
    fallen = viability()
    past = fallen.thresholds[0].model_copy(update={"crossed_by_median": date(2026, 5, 1)})
    fallen = fallen.model_copy(update={"thresholds": [past]})
    again = draw_lot_life(fallen, STAYS, TODAY, Local())
    assert "probably fell under the least for sale" in [row[1] for row in again.rows]


def test_a_lot_never_tested_has_a_picture_all_the_same() -> None:
    figure = draw_lot_life(viability(tests=False), [], TODAY, Local())
    assert "no finished test" in figure.alt
    assert figure.counts == ()
    assert not any(row[1].startswith("test") for row in figure.rows)


def made_up(luck: np.random.Generator) -> tuple[ViabilityAnswer, date]:
    """A lot of any age, fall and band, with up to four counts."""
    years, ahead = int(luck.integers(0, 16)), 10
    at = np.arange(-years, ahead + 1)
    middle = 100.0 / (1.0 + np.exp((at - luck.uniform(-8, 14)) / luck.uniform(1.2, 9.0)))
    spread = luck.uniform(1.0, 25.0)
    curve = [
        ViabilityPoint(
            on=date(2027 + int(year), 2, 20), median_pct=float(pct),
            low_50_pct=max(pct - spread / 3, 0.0), high_50_pct=min(pct + spread / 3, 100.0),
            low_90_pct=max(pct - spread, 0.0), high_90_pct=min(pct + spread, 100.0),
        )
        for year, pct in zip(at, middle, strict=True)
    ]  # fmt: skip
    seen = [
        TestSeen(
            started_on=TODAY - timedelta(days=int(luck.integers(0, 365 * years + 1))),
            viable_seeds=int(luck.integers(0, 101)), judged_seeds=100,
            viability=held(float(luck.uniform(10, 90))), worth_seeds=40, went_wrong=False,
        )
        for _ in range(int(luck.integers(0, 5)))
    ]  # fmt: skip
    return viability().model_copy(
        update={"curve": curve, "now": curve[years], "tests": seen}
    ), TODAY


def crossings(figure: LifeFigure) -> list[str]:
    """Words that a line goes through, that meet another, or that leave the picture."""
    found = []
    at = figure.today[0]
    lines = along(points(figure.median), 1.0) + along([(at, 26.0), (at, 228.0)], 1.0)
    for y in figure.limits:
        lines += along([(4.0, y), (324.0, y)], 1.0)
    tight = [
        Box(b.left + 2, b.top + 2, b.right - 2, b.bottom - 2)
        for b in (one.box for one in (*figure.words, figure.heading))
    ]
    for number, (box, word) in enumerate(zip(tight, (*figure.words, figure.heading), strict=True)):
        if any(box.holds(x, y) for x, y in lines):
            found.append(f"{word.text} on a line")
        if any(box.meets(other) for other in tight[:number]):
            found.append(f"{word.text} on another word")
        if any(box.holds(x, y) for x, y in figure.counts):
            found.append(f"{word.text} on a count")
        if box.left < 0 or box.right > WIDTH or box.top < 0 or box.bottom > HEIGHT:
            found.append(f"{word.text} outside")
    return found


@pytest.mark.parametrize("seed", range(60))
def test_no_line_strikes_through_a_word_whatever_the_life(seed: int) -> None:
    answer, today = made_up(np.random.default_rng(seed))
    figure = draw_lot_life(answer, [], today, Local(), AT_LEVELS)
    assert len(figure.limits) == 2
    assert crossings(figure) == []
    assert min(one.size_px for one in figure.words or [figure.heading]) >= 14.0
    assert len(figure.years) <= 5


def test_what_to_do_stands_in_its_own_stretch() -> None:
    figure = draw_lot_life(viability(), [], TODAY, Local(), AT_LEVELS)
    upper, lower = figure.limits
    at = {one.text: one.y for one in figure.words}
    assert at["sow as usual"] < upper < at["sow thicker"] < lower < at["get fresh"]


def test_a_word_in_the_way_would_be_found_out() -> None:
    figure = draw_lot_life(viability(), STAYS, TODAY, Local())
    x, y = points(figure.median)[3]
    struck = LifeFigure(
        **{name: getattr(figure, name) for name in LifeFigure.__slots__}
        | {"words": (Word("sow thicker", x, y),)}
    )
    assert crossings(struck)
