"""A gardener does month by month what the API says: nothing comes back before its day, nothing out
of season, harvests clear their item, and no rare variety is lost."""

from collections.abc import Iterator
from datetime import date, timedelta

import pytest

from tests.api.conftest import Hand
from tests.api.three_years import GARDENER, GROWER, LIBRARY, SOWN, Garden, Play, Told, played
from tests.sizes import FULL, sized

MONTHS = sized(15, 37)
GARDENS = (GROWER, GARDENER, LIBRARY) if FULL else (GROWER,)
LUCKS = range(1, sized(1, 3) + 1)
STAND_WINTER = frozenset({"broad-bean"})


def every(play: Play) -> Iterator[Told]:
    for month in play.told:
        yield from month


def check_seed_crops(play: Play) -> None:
    """While a crop stands, and from a harvest until the day its lot's answer gave, none is asked
    for; unless a towel told something new of the variety in between."""
    asked = [one for one in every(play) if one.do in SOWN]
    for begun, ended, variety in play.stood:
        again = [one for one in asked if one.variety_id == variety and begun < one.on < ended]
        assert again == [], again
    towels = [(one.variety_id, one.on) for one, _ in play.done if one.do == "towel-first"]
    assert play.harvested
    for on, variety, lot, until in play.harvested:
        assert until is not None, (variety, lot)
        assert until > on + timedelta(days=300)
        for one in asked:
            told_since = any(whose == variety and on <= day < one.on for whose, day in towels)
            early = one.variety_id == variety and on <= one.on < until
            assert told_since or not early, (one, until)


def check_towels(play: Play) -> None:
    """No lot is tested again within the time that the answer gave, nor told two things at once."""
    done = [(one.lot, one.on, after) for one, after in play.done if one.do == "towel-first"]
    assert done
    for lot, on, after in done:
        assert after is not None
        again = [
            one.on
            for one in every(play)
            if one.do == "towel-first" and one.lot == lot and on < one.on < after
        ]
        assert again == [], (lot, on, again)
    assert all("Hold it" not in one.text for one in every(play) if one.do == "towel-first")


def check_fresh_seed(play: Play) -> None:
    """What was fetched isn't asked for again before the day its lot's answer gave, or within the
    year where it gave none; unless a towel told something new in between."""
    towels = [(one.variety_id, one.on) for one, _ in play.done if one.do == "towel-first"]
    for one, until in play.done:
        if one.do in ("get-fresh", "running-out"):
            assert until is None or until > one.on, one
            day = until or one.on + timedelta(days=360)
            told = [on for whose, on in towels if whose == one.variety_id and on >= one.on]
            again = [
                other
                for other in every(play)
                if other.task == one.task
                and one.on < other.on < day
                and not any(on < other.on for on in told)
            ]
            assert again == [], (until, again)


def check_season(play: Play) -> None:
    """No seed crop is advised from September to December but what stands the winter, and crops ask
    for nothing in winter."""
    for one in every(play):
        if one.do in SOWN and one.kind not in STAND_WINTER:
            assert one.on.month <= 8, one
        if one.do == "seed-crop":
            assert one.on.month >= 3, one


@pytest.mark.parametrize("luck", LUCKS)
@pytest.mark.parametrize("garden", GARDENS, ids=lambda one: one.name)
def test_doing_what_is_to_be_done_is_followed_by_peace(
    hand: Hand, garden: Garden, luck: int
) -> None:
    play = played(hand, garden, months=MONTHS, luck=luck)
    check_seed_crops(play)
    check_towels(play)
    check_fresh_seed(play)
    check_season(play)
    assert play.lost() <= play.hopeless
    assert play.today >= date(garden.start.year + 1, 4, 15)
