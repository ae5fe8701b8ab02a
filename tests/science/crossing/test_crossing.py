"""Crossing checks against tables of cases written by hand."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seedbank.common.catalogue import text_of
from seedbank.lots.tables.lots import Isolation
from seedbank.science.crossing.crossing import check_crossing, holds
from seedbank.science.crossing.crossing_advice import exposure_found, purity_found
from seedbank.science.crossing.crossing_risk import (
    Carrier,
    Likelihood,
    Mating,
    PartialCross,
    Purpose,
    Relation,
    Requirement,
)
from seedbank.science.crossing.crossing_stands import (
    CrossingCheck,
    FloweringStand,
    Standing,
    StandIs,
    Way,
)
from seedbank.science.crossing.flowering_days import DayWindow

BEET = FloweringStand(
    "red beet", "beta-vulgaris", 1, "beet", DayWindow(160, 220), carrier=Carrier.WIND
)
CHARD = FloweringStand(
    "the chard left standing",
    "beta-vulgaris",
    2,
    "chard",
    DayWindow(150, 170),
    distance_m=40.0,
    what=StandIs.LEFT_TO_RUN,
    carrier=Carrier.WIND,
)
KALE = FloweringStand("curly kale", "brassica-oleracea", 3, "kale", DayWindow(95, 166))
CABBAGE = replace(KALE, name="white cabbage", variety=4, kind="cabbage", distance_m=50.0)
LETTUCE = FloweringStand(
    "green lettuce",
    "lactuca-sativa",
    5,
    "lettuce",
    DayWindow(176, 240),
    mating=Mating.SELFING,
    carrier=Carrier.SELF,
)
CHICORY = FloweringStand("leaf chicory", "cichorium-intybus", 6, "chicory", DayWindow(171, 250))
ENDIVE = FloweringStand(
    "curled endive",
    "cichorium-endivia",
    7,
    "endive",
    DayWindow(176, 240),
    mating=Mating.SELFING,
    carrier=Carrier.SELF,
)
PAIRS = (PartialCross("cichorium-intybus", "cichorium-endivia", Relation.SOMETIMES),)
HOME = Requirement(Purpose.HOME, 500.0, False)
windows = st.builds(DayWindow, st.integers(1, 366), st.integers(1, 366))


def _codes(check: CrossingCheck) -> set[str]:
    return {caution.code for caution in check.cautions}


def test_the_ways_are_the_words_a_lot_records() -> None:
    assert set(Way) | {"none", "unknown"} == set(Isolation)


def test_beet_is_at_risk_from_chard_that_ran_to_seed_forty_metres_off():
    check = check_crossing(BEET, HOME, [CHARD, KALE])
    (only,) = check.exposures
    assert check.standing is Standing.RISK
    assert check.worst is Likelihood.LIKELY
    assert (only.shared, only.shared_days) == ((DayWindow(160, 170),), 11)
    assert only.shared_share == pytest.approx(11 / 61)
    # (1 - 40/500)^2 of the shared share, one species, outcrossing: nothing lessens it
    assert only.risk == pytest.approx((1 - 0.08) ** 2 * 11 / 61)
    assert text_of(exposure_found(only)) == (
        "the chard left standing (likely; 40 m, 500 m asked; 11 days in flower together)"
    )
    assert text_of(only.mends[0]) == "Cut or pull the chard left standing before 9 Jun."
    assert [mend.code for mend in only.mends] == ["stop-flowering", "move"]


def test_another_species_or_the_same_variety_is_no_danger_and_leaves_it_the_only_one():
    same = replace(CHARD, variety=BEET.variety)
    check = check_crossing(BEET, HOME, [KALE, same])
    assert check.standing is Standing.ISOLATED
    assert check.isolated_by == (Way.ONLY_VARIETY,)
    assert check.worst is Likelihood.NONE
    assert check.exposures == ()


def test_a_stand_of_unknown_variety_is_a_danger_even_to_an_unknown_one():
    stranger = replace(CHARD, variety=None)
    assert check_crossing(BEET, HOME, [stranger]).standing is Standing.RISK
    unnamed = replace(BEET, variety=None)
    assert check_crossing(unnamed, HOME, [stranger]).standing is Standing.RISK


@pytest.mark.parametrize(
    ("change", "way"),
    [
        ({"distance_m": 500.0}, Way.DISTANCE),
        ({"flowering": DayWindow(100, 159)}, Way.TIME),
        ({"carrier": Carrier.INSECT, "covered": True}, Way.CAGE),
    ],
)
def test_one_stand_is_isolated_by_metres_by_days_or_by_its_own_cage(change, way):
    check = check_crossing(BEET, HOME, [replace(CHARD, **change)])
    assert check.standing is Standing.ISOLATED
    assert check.isolated_by == (way,)
    assert check.exposures[0].likelihood is Likelihood.NONE
    assert check.exposures[0].mends == ()


def test_half_a_metre_or_one_day_short_is_a_risk_again():
    near = replace(CHARD, distance_m=499.5)
    assert check_crossing(BEET, HOME, [near]).worst is Likelihood.UNLIKELY
    early = replace(CHARD, flowering=DayWindow(100, 160))
    assert check_crossing(BEET, HOME, [early]).exposures[0].shared_days == 1


def test_a_caged_stand_still_gives_its_pollen_to_the_wind():
    assert check_crossing(BEET, HOME, [replace(CHARD, covered=True)]).standing is Standing.RISK


@pytest.mark.parametrize(
    ("way", "carrier", "kept_out"),
    # common practice, no single source
    [
        (Way.CAGE, Carrier.INSECT, True),
        (Way.CAGE, Carrier.SELF, True),
        (Way.CAGE, Carrier.WIND, False),
        (Way.BAG, Carrier.INSECT, True),
        (Way.BAG, Carrier.SELF, True),
        (Way.BAG, Carrier.WIND, False),
        (Way.HAND_POLLINATION, Carrier.INSECT, True),
        (Way.HAND_POLLINATION, Carrier.SELF, True),
        (Way.HAND_POLLINATION, Carrier.WIND, True),
        (Way.DISTANCE, Carrier.INSECT, False),
        (Way.TIME, Carrier.INSECT, False),
    ],
)
def test_what_covers_and_hand_work_hold_against(way, carrier, kept_out):
    assert holds(way, carrier) is kept_out
    target, other = replace(KALE, carrier=carrier), replace(CABBAGE, carrier=carrier)
    check = check_crossing(target, HOME, [other], {way})
    assert (check.standing is Standing.ISOLATED) is kept_out
    assert check.isolated_by == ((way,) if kept_out else ())


@pytest.mark.parametrize(
    ("target", "way", "code"),
    [
        (KALE, Way.CAGE, "cage-needs-insects"),
        (BEET, Way.CAGE, "cage-lets-wind-through"),
        (KALE, Way.BAG, "bag-needs-hand"),
        (BEET, Way.BAG, "bag-starves-wind-crop"),
        (BEET, Way.HAND_POLLINATION, "hand-covers-flowers"),
        (LETTUCE, Way.CAGE, None),
        (LETTUCE, Way.BAG, None),
        (KALE, Way.HAND_POLLINATION, None),
    ],
)
def test_each_cover_brings_the_warning_its_crop_needs(target, way, code):
    assert _codes(check_crossing(target, HOME, [], {way})) == ({code} if code else set())


def test_endive_pollen_reaches_chicory_but_not_the_reverse():
    assert check_crossing(CHICORY, HOME, [ENDIVE], pairs=PAIRS).standing is Standing.RISK
    assert check_crossing(ENDIVE, HOME, [CHICORY], pairs=PAIRS).exposures == ()


def test_a_part_crossing_group_is_less_likely_than_the_same_species():
    cousin = replace(CABBAGE, group="brassica-napus")
    rarely = (PartialCross("brassica-oleracea", "brassica-napus", Relation.RARELY),)
    check = check_crossing(KALE, HOME, [cousin, CABBAGE], pairs=rarely)
    assert [e.likelihood for e in check.exposures] == [Likelihood.LIKELY, Likelihood.UNLIKELY]
    assert [e.stand.group for e in check.exposures] == ["brassica-oleracea", "brassica-napus"]


def test_a_selfing_crop_a_few_metres_off_needs_nothing_more():
    other = replace(LETTUCE, variety=8, name="red lettuce", distance_m=3.0)
    near = Requirement(Purpose.HOME, 3.0, False)
    assert check_crossing(LETTUCE, near, [other]).isolated_by == (Way.DISTANCE,)
    beside = check_crossing(LETTUCE, near, [replace(other, distance_m=0.0)])
    outcrosser = check_crossing(KALE, near, [replace(CABBAGE, distance_m=0.0)])
    assert 0 < beside.exposures[0].risk < outcrosser.exposures[0].risk


def test_what_is_not_known_is_taken_at_its_worst_and_said():
    lost = replace(CHARD, distance_m=None, flowering=None)
    check = check_crossing(BEET, Requirement(Purpose.KEEP, 900.0, True), [lost])
    assert check.exposures[0].risk == 1.0
    assert _codes(check) == {"distance-unknown", "window-unknown", "distance-assumed"}
    blind = check_crossing(replace(BEET, flowering=None), HOME, [lost])
    assert "own-window-unknown" in _codes(blind)
    assert "before_day" not in blind.exposures[0].mends[0].numbers
    assert "before the seed crop opens" in text_of(blind.exposures[0].mends[0])


def test_a_short_gap_between_windows_isolates_but_is_warned_of():
    early = replace(CHARD, flowering=DayWindow(120, 150))
    check = check_crossing(BEET, HOME, [early])
    assert check.standing is Standing.ISOLATED
    assert [(c.code, dict(c.numbers)) for c in check.cautions] == [("gap-short", {"gap_days": 9.0})]
    long_before = replace(CHARD, flowering=DayWindow(100, 140))
    assert check_crossing(BEET, HOME, [long_before]).cautions == ()


def test_a_kind_that_asks_for_no_distance_is_isolated_anywhere():
    none = Requirement(Purpose.HOME, 0.0, False)
    assert check_crossing(BEET, none, [CHARD]).isolated_by == (Way.DISTANCE,)


def _assert_each_mend_ends_it(target: FloweringStand, other: FloweringStand) -> None:
    """Every mend is done as it says, and the check made again."""
    theirs = other.flowering
    assert theirs is not None
    (exposure,) = check_crossing(target, HOME, [other]).exposures
    assert bool(exposure.mends) == (not exposure.isolated_by)
    for mend in exposure.mends:
        ways, left = set(), [other]
        if mend.code in ("cage", "bag", "hand-pollination"):
            ways = {Way(mend.code)}
        elif mend.code == "move":
            left = [replace(other, distance_m=exposure.required_m)]
        elif mend.code == "another-year":
            left = []
        else:
            assert mend.code == "stop-flowering"
            before_day = int(mend.numbers["before_day"])
            left = []
            if before_day != theirs.from_day:
                last = (before_day - 2) % 366 + 1
                left = [replace(other, flowering=DayWindow(theirs.from_day, last))]
            elif theirs.days == 366:  # cut before the year: it must not flower all year through
                assert target.flowering is not None
                assert target.flowering.days < 365, "it would have to be cut for ever"
        assert check_crossing(target, HOME, left, ways).standing is Standing.ISOLATED, mend


@settings(max_examples=200, deadline=None)
@given(windows, windows, st.floats(0, 800), st.sampled_from(Carrier), st.sampled_from(Mating))
def test_every_mend_offered_would_end_the_risk(mine, theirs, metres, carrier, mating):
    target = replace(KALE, flowering=mine, carrier=carrier, mating=mating)
    other = replace(CABBAGE, flowering=theirs, distance_m=metres, carrier=carrier)
    _assert_each_mend_ends_it(target, other)


EDGES = (1, 2, 20, 350, 365, 366)
"""Days whose windows are of one day, touch, span New Year, or go round the whole year."""


@pytest.mark.parametrize("what", StandIs)
@pytest.mark.parametrize("carrier", [Carrier.INSECT, Carrier.WIND])
def test_every_mend_ends_the_risk_for_whole_wrapping_touching_and_one_day_windows(what, carrier):
    every = [DayWindow(a, b) for a in EDGES for b in EDGES]
    for mine in every:
        target = replace(BEET, flowering=mine, carrier=carrier)
        for theirs in every:
            other = replace(CHARD, flowering=theirs, carrier=carrier, what=what)
            _assert_each_mend_ends_it(target, other)


@pytest.mark.parametrize("start", [1, 2, 100, 366])
def test_what_flowers_with_the_crop_all_year_is_not_to_be_cut_on_a_day_but_kept_away(start):
    always = DayWindow(start, (start - 2) % 366 + 1)
    target = replace(KALE, flowering=always)
    check = check_crossing(target, HOME, [replace(CABBAGE, flowering=DayWindow(2, 1))])
    (one,) = check.risks
    assert (one.shared_days, one.shared_share) == (366, 1.0)
    assert [mend.code for mend in one.mends] == ["another-year", "cage", "hand-pollination", "move"]
    assert [text_of(c) for c in check.cautions] == [
        "No day of cutting white cabbage ends the risk: each of these keeps them apart: another "
        "year, a cage, hand pollination and distance."
    ]
    wild = replace(BEET, name="sea beet", variety=None, what=StandIs.WILD, flowering=always)
    check = check_crossing(replace(BEET, flowering=always), HOME, [wild])
    assert [text_of(mend) for mend in check.risks[0].mends] == [
        "Grow red beet at least 500 m away from sea beet."
    ]
    assert "only distance keeps them apart" in text_of(check.cautions[0])


def test_what_flowers_all_year_is_cut_before_a_crop_that_opens_on_a_known_day():
    always = replace(CABBAGE, flowering=DayWindow(2, 1))
    (one,) = check_crossing(KALE, HOME, [always]).risks
    assert (one.mends[0].code, one.mends[0].numbers) == ("stop-flowering", {"before_day": 95.0})


@settings(max_examples=200, deadline=None)
@given(windows, windows, st.floats(0, 800), st.floats(0, 800), st.floats(1, 1000))
def test_more_metres_never_raise_a_risk_and_a_longer_demand_never_lowers_it(
    mine, theirs, metres, more, asked
):
    target = replace(KALE, flowering=mine)

    def risk(distance, required):
        other = replace(CABBAGE, flowering=theirs, distance_m=distance)
        need = Requirement(Purpose.KEEP, required, False)
        return check_crossing(target, need, [other]).exposures[0].risk

    near, far = sorted((metres, more))
    assert risk(far, asked) <= risk(near, asked) <= risk(near, 2 * asked)


def test_saved_seed_carries_how_it_was_isolated_or_what_it_may_have_crossed_with():
    alone = purity_found(check_crossing(KALE, HOME, []))
    assert text_of(alone) == (
        "Isolated: nothing else that crosses with it is known to flower within reach."
    )
    caged = purity_found(check_crossing(KALE, HOME, [CABBAGE], {Way.CAGE}))
    assert "Isolated by a cage from all" in text_of(caged)
    kept = purity_found(check_crossing(KALE, HOME, [], {Way.CAGE}))
    assert text_of(kept).endswith("within reach, and kept by a cage.")
    risk = purity_found(check_crossing(BEET, HOME, [CHARD]))
    assert text_of(risk) == (
        "Risk of crossing with the chard left standing "
        "(likely; 40 m, 500 m asked; 11 days in flower together)."
    )
    many = [replace(CHARD, variety=n, name=f"chard {n}") for n in range(10, 15)]
    crowd = purity_found(check_crossing(BEET, HOME, many))
    assert text_of(crowd).endswith(" and 2 more.")


def test_impossible_stands_are_refused():
    with pytest.raises(ValueError, match="distance"):
        replace(CHARD, distance_m=-1.0)
    with pytest.raises(ValueError, match="plants"):
        replace(CHARD, plants=-1)
