"""What share of a lot's living seed is awake, by its tests."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from scipy.special import betaincinv
from sqlmodel import Session, col, select

from seedbank.database.find import row_id
from seedbank.germination.tables import GerminationTest, Pretreatment, totals
from seedbank.science.quantities import INTERVAL_ENDS, INTERVAL_LEVEL, Interval
from seedbank.science.sowing.emergence import BetaShare
from seedbank.science.sowing.waking import NEVER_TESTED, SleepSeen, awake_share

_AS_IT_IS = (Pretreatment.NONE, Pretreatment.SOAK)  # soaking wakes nothing


@dataclass(frozen=True, slots=True)
class SproutingTest:
    """A finished test of seed as it is: ``normal`` sprouted of ``viable`` living seeds, of which
    ``hard`` took up no water."""

    started_on: date
    normal: int
    viable: int
    hard: int = 0

    @property
    def asleep(self) -> int:
        return self.viable - self.normal


@dataclass(frozen=True, slots=True)
class ReadyShare:
    """Share of living seed that is awake when sown, and the test it rests on (None: none yet)."""

    share: BetaShare
    test: SproutingTest | None

    @property
    def range(self) -> Interval:
        """Central 90 % interval; from the mean, where that lies below it."""
        a, b = self.share.alpha, self.share.beta
        low, high = (float(betaincinv(a, b, end)) for end in INTERVAL_ENDS)
        return Interval(min(low, self.share.mean), high, INTERVAL_LEVEL)


@dataclass(frozen=True, slots=True)
class Readiness:
    """Tests of seed as it is, by lot id. Tests after chilling or nicking don't speak of it."""

    tests: Mapping[int, list[SproutingTest]] = field(default_factory=dict)

    def on(self, lot_id: int, day: date) -> ReadyShare:
        """From the test nearest in time to ``day``, and how much of its sleep fades until then."""
        tests = self.tests.get(lot_id, ())
        if not tests:
            return ReadyShare(NEVER_TESTED, None)
        nearest = min(tests, key=lambda test: abs((test.started_on - day).days))
        seen = SleepSeen(nearest.normal, nearest.asleep - nearest.hard, nearest.hard)
        return ReadyShare(awake_share(seen, (day - nearest.started_on).days), nearest)


def read_readiness(session: Session, lot_ids: Iterable[int]) -> Readiness:
    """Read the finished tests of these lots, and what lay hard where some slept, in two queries."""
    query = (
        select(GerminationTest)
        .where(
            col(GerminationTest.lot_id).in_(list(lot_ids)),
            col(GerminationTest.finished_on).is_not(None),
            col(GerminationTest.pretreatment).in_(_AS_IT_IS),
            col(GerminationTest.fault).is_(None),  # in the cold living seed sleeps
        )
        .order_by(col(GerminationTest.started_on), col(GerminationTest.id))
    )
    tests = [one for one in session.exec(query) if one.viable_seeds]
    asleep = [one for one in tests if one.normal_seeds != one.viable_seeds]
    counted = totals(session, [row_id(one.id) for one in asleep]) if asleep else {}
    found: dict[int, list[SproutingTest]] = {}
    for test in tests:
        if test.viable_seeds and test.normal_seeds is not None:
            hard = sum(each.judged.hard for each in counted.get(row_id(test.id), ()))
            one = SproutingTest(test.started_on, test.normal_seeds, test.viable_seeds, hard)
            found.setdefault(test.lot_id, []).append(one)
    return Readiness(found)
