"""How much of a lot's living seed would sprout as it is: neither hard nor dormant."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from scipy.special import betaincinv
from sqlmodel import Session, col, select

from seedbank.germination.tables.germination_tests import GerminationTest, Pretreatment
from seedbank.science.quantities import Interval
from seedbank.science.sowing.emergence import BetaShare

# Before any test: nearly all, with the weight of two seeds, so that ten seeds tell. Our choice.
_BEFORE = BetaShare(1.95, 0.05)
_AS_IT_IS = (Pretreatment.NONE, Pretreatment.SOAK)  # soaking wakes nothing


@dataclass(frozen=True, slots=True)
class SproutingTest:
    """A finished test of seed as it is: ``normal`` sprouted of ``viable`` living seeds."""

    started_on: date
    normal: int
    viable: int

    @property
    def asleep(self) -> int:
        return self.viable - self.normal


@dataclass(frozen=True, slots=True)
class ReadyShare:
    """Share of living seed that sprouts untreated, and the test it rests on (None: none yet)."""

    share: BetaShare
    test: SproutingTest | None

    @property
    def range(self) -> Interval:
        """Central 90 % interval."""
        a, b = self.share.alpha, self.share.beta
        return Interval(float(betaincinv(a, b, 0.05)), float(betaincinv(a, b, 0.95)), 0.9)


@dataclass(frozen=True, slots=True)
class Readiness:
    """Tests of seed as it is, by lot id. Tests after chilling or nicking don't speak of it."""

    tests: Mapping[int, list[SproutingTest]] = field(default_factory=dict)

    def on(self, lot_id: int, day: date) -> ReadyShare:
        """From the test nearest in time to ``day``: dormancy fades, so older tests tell less."""
        tests = self.tests.get(lot_id, ())
        if not tests:
            return ReadyShare(_BEFORE, None)
        nearest = min(tests, key=lambda test: abs((test.started_on - day).days))
        share = BetaShare(_BEFORE.alpha + nearest.normal, _BEFORE.beta + nearest.asleep)
        return ReadyShare(share, nearest)


def read_readiness(session: Session, lot_ids: Iterable[int]) -> Readiness:
    """Read the finished tests of these lots, in one query."""
    query = (
        select(GerminationTest)
        .where(
            col(GerminationTest.lot_id).in_(list(lot_ids)),
            col(GerminationTest.finished_on).is_not(None),
            col(GerminationTest.pretreatment).in_(_AS_IT_IS),
        )
        .order_by(col(GerminationTest.started_on), col(GerminationTest.id))
    )
    found: dict[int, list[SproutingTest]] = {}
    for test in session.exec(query):
        if test.viable_seeds and test.normal_seeds is not None:
            one = SproutingTest(test.started_on, test.normal_seeds, test.viable_seeds)
            found.setdefault(test.lot_id, []).append(one)
    return Readiness(found)
