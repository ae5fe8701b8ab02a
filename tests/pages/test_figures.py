"""Pictures: the same bytes for the same figures, legible in both modes, with words beside them."""

import re
from datetime import date
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
from seedbank.season.pages.kind_year_figure import bars_of, draw_kind_year
from seedbank.sowing.forecast_answers import (
    CalibrationBinAnswer,
    ForecastRecordAnswer,
    ForetoldAnswer,
    SavedAnswer,
)
from seedbank.sowing.pages.forecast_record_figure import (
    MOST_DRAWN,
    draw_calibration,
    draw_seed_saved,
)
from seedbank.viability.judge_foretold_tests import judge
from seedbank.web.figures import COLOURS, WIDTH, Figure

TODAY = date(2027, 2, 20)
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = 'Zoë "<script>alert(1)</script>" & $x^2$ \x00\u202e‮café 🥕'
FIGURES = ("calibration", "saved", "plan", "year")


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


def drawn(which: str) -> Figure:
    """One of each, as full and as hostile as they come."""
    if which == "calibration":
        return draw_calibration(record(150), Local())
    if which == "saved":
        return draw_seed_saved(SAVED, Local())
    if which == "year":
        found = draw_kind_year(kind_year(), HOSTILE, Local())
        assert found is not None
        return found
    return draw_season_plan(planned(60, HOSTILE), 2027, 6)


def kind_year(slug: str = "broad-bean") -> KindSeasonAnswer:
    """The year of a kind with two windows, in a cool maritime garden."""
    monthly = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]
    garden = year_of(GardenClimate(id=1, monthly_c=monthly))
    return season_of(packaged_kinds()[slug], garden, SeasonAsked(TODAY))


@pytest.fixture(scope="module")
def figures() -> dict[str, Figure]:
    return {which: drawn(which) for which in FIGURES}


def words(figure: Figure) -> list[str]:
    root = ElementTree.fromstring(figure.draw())
    return [text.text or "" for text in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("which", FIGURES)
def test_a_picture_is_drawn_to_the_same_bytes_each_time(
    which: str, figures: dict[str, Figure]
) -> None:
    again = drawn(which)
    assert again == figures[which]
    assert again.digest == figures[which].digest
    assert again.draw() == figures[which].draw()  # drawn anew, not as kept


@pytest.mark.parametrize("which", FIGURES)
def test_a_picture_is_one_small_document_that_asks_for_nothing_outside(
    which: str, figures: dict[str, Figure]
) -> None:
    svg = figures[which].draw()
    root = ElementTree.fromstring(svg)  # well formed, whatever the names
    assert len(svg) <= 25_000
    assert not {node.tag for node in root.iter()} & {f"{SVG}script", f"{SVG}image"}
    links = {v for node in root.iter() for k, v in node.attrib.items() if k.endswith("href")}
    assert all(link.startswith("#") for link in links)
    assert b"url(http" not in svg
    assert b"@import" not in svg
    assert (root.get("width"), root.get("height")) == (
        str(figures[which].width),
        str(figures[which].height),
    )


@pytest.mark.parametrize("which", FIGURES)
def test_a_picture_tells_its_name_and_what_it_says(which: str, figures: dict[str, Figure]) -> None:
    figure = figures[which]
    root = ElementTree.fromstring(figure.draw())
    assert root.findtext(f"{SVG}title") == figure.title
    assert root.findtext(f"{SVG}desc") == figure.alt
    assert len(figure.alt) > 40
    assert figure.rows
    assert {len(row) for row in figure.rows} == {len(figure.header)}


@pytest.mark.parametrize("which", FIGURES)
def test_lettering_is_at_least_12_pixels_on_a_phone_of_360(
    which: str, figures: dict[str, Figure]
) -> None:
    sizes = [float(size) for size in re.findall(rb"font-size: ([\d.]+)px", figures[which].draw())]
    assert sizes
    assert min(sizes) >= 12.0
    assert figures[which].width == WIDTH <= 360 - 2 * 17  # the sheet's margins, 1rem of 17 pixels


@pytest.mark.parametrize("which", FIGURES)
def test_every_colour_goes_by_name_so_that_both_modes_have_theirs(
    which: str, figures: dict[str, Figure]
) -> None:
    svg = figures[which].draw().decode()
    declared = sorted(colour for pair in COLOURS.values() for colour in pair)
    assert sorted(re.findall(r"#[0-9a-f]{6}\b", svg)) == declared
    assert set(re.findall(r"var\(--(\w+)\)", svg)) <= COLOURS.keys()
    assert "prefers-color-scheme:dark" in svg


def contrast(one: str, other: str) -> float:
    # WCAG 2.2, relative luminance and contrast ratio.
    def luminance(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("mode", [0, 1], ids=["light", "dark"])
def test_contrast_holds_for_lettering_and_marks(mode: int) -> None:
    colours = {name: pair[mode] for name, pair in COLOURS.items()}
    for lettering in ("ink", "soft", "warn"):
        assert contrast(colours[lettering], colours["paper"]) >= 7.0
    for mark in ("line", "mark", "warn"):
        assert contrast(colours[mark], colours["paper"]) >= 3.0
        assert contrast(colours[mark], colours["outer"]) >= 3.0
    assert contrast(colours["line"], colours["inner"]) >= 3.0
    assert contrast(colours["mark"], colours["inner"]) >= 3.0


def test_names_are_text_and_nothing_else() -> None:
    figure = draw_season_plan(planned(1, "$x^2$ <b>&"), 2027, 6)
    assert any(text.startswith("$x^2$ <b>&") for text in words(figure))
    assert b"<b>" not in figure.draw()


def test_a_plan_shows_the_first_varieties_and_tells_of_all() -> None:
    figure = draw_season_plan(planned(60), 2027, 6)
    assert len(figure.rows) == 180
    assert "The first 40 varieties are drawn." in figure.alt
    assert sum(text.startswith("Invented") for text in words(figure)) == 40


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
    over_new_year = answer.model_copy(update={"flowers": SpanAnswer(from_day=350, to_day=20)})
    assert draw_kind_year(over_new_year, "broad bean", Local()) is not None


def test_a_year_nobody_knows_has_no_picture() -> None:
    unknown = season_of(
        packaged_kinds()["carrot"], year_of(GardenClimate(id=1)), SeasonAsked(TODAY)
    )
    assert draw_kind_year(unknown, "carrot", Local()) is None
