"""Pictures: drawn in the colours of the sheet, with words and a table beside them."""

import re
from datetime import date
from html import unescape
from xml.etree import ElementTree

import pytest

from seedbank.climate.answers import KindSeasonAnswer, SpanAnswer
from seedbank.climate.garden_year import year_of
from seedbank.climate.kind_season import SeasonAsked, season_of
from seedbank.climate.tables import GardenClimate
from seedbank.common.answers import PercentAnswer, VarietyBrief
from seedbank.common.local_format import Local
from seedbank.facts.kinds import packaged_kinds
from seedbank.lots.tables.lots import Purity
from seedbank.plan.pages.season_plan_figure import PlannedCrop, draw_season_plan
from seedbank.saving.answers import DriftAnswer, PedigreeStep
from seedbank.saving.show_lines import DEEPEST, pedigree_of
from seedbank.season.pages.year_figure import (
    bars_of,
    draw_kind_year,
    marks_of,
    place_of,
    words_under,
)
from seedbank.sowing.forecast_answers import (
    CalibrationBinAnswer,
    ForecastRecordAnswer,
    ForetoldAnswer,
    SavedAnswer,
)
from seedbank.sowing.pages.forecast_record_figure import (
    BOTTOM,
    LEFT,
    MOST_DRAWN,
    RIGHT,
    TOP,
    draw_calibration,
    draw_seed_saved,
)
from seedbank.viability.judge_foretold_tests import judge
from seedbank.web.pages.render import STATIC, _environment

TODAY = date(2027, 2, 20)
HOSTILE = 'Zoë "<script>alert(1)</script>" & $x^2$ \x00\u202e‮café 🥕'


def held(pct: float) -> PercentAnswer:
    return PercentAnswer(pct=pct, low_pct=pct - 8, high_pct=min(pct + 6, 100), level_pct=90)


BINS = [
    CalibrationBinAnswer(from_pct=40, to_pct=60, sowings=17, foretold_pct=51.2, emerged_pct=48.9,
                         emerged_low_pct=42.0, emerged_high_pct=55.8),
    CalibrationBinAnswer(from_pct=60, to_pct=80, sowings=1, foretold_pct=66.0, emerged_pct=71.0,
                         emerged_low_pct=None, emerged_high_pct=None),
]  # fmt: skip


def record(sowings: int) -> ForecastRecordAnswer:
    items = [
        ForetoldAnswer(
            sowing=n, lot="4K7PM", kind="carrot", sown_on=date(2020 + n % 7, 4, 2), seeds=100 + n,
            expected=40.0 + n % 50, low=30.0, high=80.0, emerged=20 + n % 70,
            low_50=35.0, high_50=70.0, plants_wanted=None, seeds_advised=None,
        )
        for n in range(1, sowings + 1)
    ]  # fmt: skip
    return ForecastRecordAnswer(
        forecasts=sowings, all_inside_90=None, by_sort=[], viability=judge([]),
        sowings=sowings, inside_50=held(50) if sowings else None,
        inside_90=held(88) if sowings else None, mean_error_points=-1.5 if sowings else None,
        mean_error_low_points=None, mean_error_high_points=None, saved=SAVED, items=items,
        bins=BINS if sowings else [], reasons=[], sources=[],
    )  # fmt: skip


SAVED = SavedAnswer(
    sowings=60, plants_wanted=2400, seeds_sown=7300, seeds_advised=5100, oversown=41,
    seeds_saved=2600, undersown=17, seeds_short=400, good_as_sown=held(88),
    good_as_advised=held(86), promised_pct=84.2,
)  # fmt: skip


def planned(varieties: int, name: str = "Invented") -> list[PlannedCrop]:
    return [
        PlannedCrop(f"{name} {n}", "carrot", year, year + n % 2, "Long garden", way)
        for n in range(varieties)
        for year, way in ((2027, "distance"), (2030, "cage"), (2031, "hand-pollination"))
    ]


def kind_year(slug: str = "broad-bean") -> KindSeasonAnswer:
    """The year of a kind with two windows, in a cool maritime garden."""
    monthly = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]
    garden = year_of(GardenClimate(id=1, monthly_c=monthly))
    return season_of(packaged_kinds()[slug], garden, SeasonAsked(TODAY))


def hostile_pictures() -> dict[str, str]:
    """One of each, as full and as hostile as they come, as its page has it."""
    year = draw_kind_year(kind_year(), HOSTILE, Local())
    assert year is not None
    plan = draw_season_plan(planned(60, HOSTILE), 2027, 6)
    pictures = [
        ("sowing/pages/_record.html", "calibration", draw_calibration(record(150), Local())),
        ("sowing/pages/_record.html", "seed_saved", draw_seed_saved(SAVED, Local())),
        ("plan/pages/_plan_years.html", "plan_years", plan),
        ("season/pages/_year.html", "strip", year.strips[0][2]),
    ]  # fmt: skip
    return {
        name: str(getattr(_environment().get_template(file).module, name)(
            drawn, *([12.5] if name == "strip" else [])
        ))
        for file, name, drawn in pictures
    }  # fmt: skip


PICTURES = ("calibration", "seed_saved", "plan_years", "strip")


@pytest.mark.parametrize("which", PICTURES)
def test_a_picture_is_drawn_in_the_colours_of_the_sheet_and_asks_for_nothing(which: str) -> None:
    drawn = hostile_pictures()[which]
    assert drawn == hostile_pictures()[which]
    (svg,) = re.findall(r"<svg (?:viewBox|class=\"year).*</svg>", drawn, flags=re.DOTALL)
    root = ElementTree.fromstring(svg)  # well formed, whatever the names
    assert len(svg) <= 25_000
    assert not {node.tag for node in root.iter()} & {"script", "image", "style"}
    links = {v for node in root.iter() for k, v in node.attrib.items() if k.endswith("href")}
    assert all(link.startswith("#") for link in links)
    assert not re.findall(
        r"#[0-9a-f]{3,6}\b(?!-)", svg
    )  # no colour of its own: dark is the sheet's
    sheet = (STATIC / "bench.css").read_text("utf-8")
    assert {f"--{name}:" for name in re.findall(r"var\(--([\w-]+)\)", svg)} <= set(
        re.findall(r"--[\w-]+:", sheet)
    )


@pytest.mark.parametrize("which", PICTURES[:3])
def test_a_picture_says_what_it_shows_and_has_all_of_it_as_a_table(which: str) -> None:
    drawn = hostile_pictures()[which]
    (alt,) = re.findall(r'role="img" aria-label="([^"]+)"', drawn)
    assert len(alt) > 40
    assert drawn.count("<table>") == 1
    columns = drawn.count("<th ")
    assert drawn.count("<td>") % columns == 0
    assert drawn.count("<td>") >= columns


def words(name: str, drawn: object) -> list[str]:
    template = _environment().get_template("plan/pages/_plan_years.html").module
    svg = str(getattr(template, name)(drawn)).split("</svg>")[0]
    return [unescape(text) for text in re.findall(r"<text[^>]*>([^<]*)<", svg)]


def test_names_are_text_and_nothing_else() -> None:
    figure = draw_season_plan(planned(1, "$x^2$ <b>&"), 2027, 6)
    assert any(text.startswith("$x^2$ <b>&") for text in words("plan_years", figure))


def test_marks_of_the_record_stand_where_a_plotting_library_puts_them() -> None:
    """Outside check: matplotlib's axes of the same box and limits."""
    from matplotlib.figure import Figure

    wide, high = 328.0, 336.0
    box = (LEFT / wide, 1 - BOTTOM / high, (RIGHT - LEFT) / wide, (BOTTOM - TOP) / high)
    axes = Figure(figsize=(wide / 72, high / 72), dpi=72).add_axes(box)
    axes.set_xlim(0, 100)
    axes.set_ylim(0, 100)
    figure = draw_calibration(record(150), Local())
    items = sorted(record(150).items, key=lambda one: (one.sown_on, one.sowing))[-MOST_DRAWN:]
    shares = [(100 * one.expected / one.seeds, 100 * one.emerged / one.seeds) for one in items]
    there = sorted((x, high - y) for x, y in axes.transData.transform(shares))
    assert sorted([*figure.held, *figure.missed]) == [pytest.approx(one, abs=0.06) for one in there]
    ends = [(one.foretold_pct, one.emerged_high_pct or one.emerged_pct) for one in BINS]
    assert [(one.x, one.high) for one in figure.bins] == [
        pytest.approx((x, high - y), abs=0.06) for x, y in axes.transData.transform(ends)
    ]


def test_months_are_of_one_width_and_a_span_over_new_year_is_in_two_pieces() -> None:
    assert [place_of(day) for day in (1, 32, 182, 335, 366)] == [
        pytest.approx(100 * month / 12, abs=0.01) for month in (0, 1, 6, 11, 12)
    ]
    last, first = marks_of("flowers", 350, 20)
    assert (last.right, first.left) == (100.0, 0.0)
    assert place_of(196) == pytest.approx(100 * (6 + 14 / 31) / 12, abs=0.01)  # 15 July


def test_words_under_a_strip_stand_clear_of_each_other() -> None:
    marks = [next(marks_of("sow", day, day + 9)) for day in (1, 12, 150, 355)]
    words = words_under([("sow it now", mark) for mark in marks])
    assert len(words) == 3  # the second has no room beside the first
    assert [one.anchor for one in words] == ["start", "start", "end"]


def test_a_plan_shows_the_first_varieties_and_tells_of_all() -> None:
    figure = draw_season_plan(planned(60), 2027, 6)
    assert len(figure.rows) == 180
    assert "The first 40 varieties are drawn." in figure.alt
    assert sum(text.startswith("Invented") for text in words("plan_years", figure)) == 40


def test_an_empty_plan_says_so() -> None:
    figure = draw_season_plan([], 2027, 6)
    assert figure.alt == "No seed crop is planned from 2027 to 2032."


def test_of_many_sowings_the_latest_are_drawn_and_all_told() -> None:
    figure = draw_calibration(record(150), Local())
    means, sowings = figure.rows[: len(BINS)], figure.rows[len(BINS) :]
    assert [row[4] for row in means] == ["49 % on the mean (42 to 56 %)", "71 % on the mean"]
    assert len(sowings) == 150
    assert f"The latest {MOST_DRAWN} are drawn." in figure.alt
    outside = [row for row in figure.rows if row[4].endswith(", outside")]
    assert len(outside) == sum(not 30 <= one.emerged <= 80 for one in record(150).items)


def test_before_any_sowing_the_record_says_there_is_nothing_to_judge_by() -> None:
    assert draw_calibration(record(0), Local()).alt.startswith("No sowing is finished")


def line(parents: dict[str, list[str]], lot: str) -> DriftAnswer:
    return DriftAnswer(
        lot=lot, variety=VarietyBrief(id=1, name="Purple Lantern", kind="carrot"),
        purity=Purity.UNKNOWN, purity_note="", generations=2, effective_number=None, kept=0.9,
        inbreeding=0.1, uncounted_generations=0, parents_asked=None, cautions=[], sources=[],
        line=[
            PedigreeStep(lot=one, parents=stems, seed_parents=12, effective_parents=12, kept=0.9)
            for one, stems in parents.items()
        ],
    )  # fmt: skip


def test_a_pedigree_tells_a_shared_ancestor_once_in_full() -> None:
    tree = pedigree_of(line({"A": [], "B": ["A"], "C": ["B"], "D": ["B"], "E": ["C", "D"]}, "E"))
    first, second = (parent.parents[0] for parent in tree.parents)
    assert (first.lot, [one.lot for one in first.parents], first.told) == ("B", ["A"], False)
    assert (second.lot, second.parents, second.told) == ("B", (), True)
    assert first.parents[0].founder


def test_a_pedigree_of_hundreds_of_generations_ends_somewhere() -> None:
    parents = {"0": []} | {str(n): [str(n - 1)] for n in range(1, 400)}
    tree = pedigree_of(line(parents, "399"))
    deep = 0
    while tree.parents:
        tree, deep = tree.parents[0], deep + 1
    assert deep == DEEPEST
    assert tree.left_out


def test_a_year_has_a_row_for_each_way_of_sowing_for_flowers_and_for_ripe_seed() -> None:
    answer = kind_year()
    bars = {one.what: one.spans for one in bars_of(answer)}
    assert {"open", "fleece", "frame", "tunnel", "flowers", "ripe"} <= set(bars)
    assert len(bars["open"]) == 2  # spring, and November
    figure = draw_kind_year(answer, "broad bean", Local())
    assert figure is not None
    assert len(figure.rows) == sum(map(len, bars.values()))
    assert "The upright line is today" in figure.alt
    assert len(figure.strips) == len(bars)
    over_new_year = answer.model_copy(update={"flowers": SpanAnswer(from_day=350, to_day=20)})
    drawn = draw_kind_year(over_new_year, "broad bean", Local())
    assert drawn is not None
    assert len(next(strip for name, _, strip in drawn.strips if name == "Flowers").marks) == 2


def test_a_year_nobody_knows_has_no_picture() -> None:
    unknown = season_of(
        packaged_kinds()["carrot"], year_of(GardenClimate(id=1)), SeasonAsked(TODAY)
    )
    assert draw_kind_year(unknown, "carrot", Local()) is None
