"""Which lots to test together: the batch whose answers save most over all lots they teach.

All lots' probit viabilities today are one normal law: what a lot's own records leave open, and what
it shares with others (store, kind, source, garden; ``shared_effects``). A question to a lot has two
answers, better or worse by so much a probit to either side of a level. Testing a set T of lots lets
the mean of lot i move with standard deviation s_i,

    worth(T) = sum_i a_i s_i psi(|m_i| / s_i),    psi(u) = phi(u) - u Phi(-u),
    s_i^2 = S_iT (S_TT + R)^-1 S_Ti,

with a_i the slope, m_i the mean above the level, S the covariance, R the tests' errors (expected
value of sample information, two actions with linear loss: H. Raiffa & R. Schlaifer, Applied
Statistical Decision Theory, 1961, from memory). s_i does not depend on the counts, so lots are
added one at a time, each time the best, by rank-one updates of S.

Outside checks (``tests/science/testing/test_test_batch.py``): sums over every count of one test,
simulated counts of several, the full inverse in place of the updates, and worth of perfect
knowledge as a ceiling; simulated gardens (``tests/benchmarks/test_choice_of_tests.py``).
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from seedbank.science.quantities import FloatArray, IntArray, ProbitNodes
from seedbank.science.shared_effects import SharedEffects
from seedbank.science.testing.test_plan import count_probabilities

SIZES = (10, 20, 25, 50)
"""Seeds a test may take."""
MOST_OF_STOCK = 1.0 / 3.0
"""No test takes more of a lot. Our choice, as are those below."""
PLENTY_SEEDS = 200
"""Of a lot of more seeds twenty are offered first, ten of any other."""
TEST_COST, SEED_EFFORT = 0.0133, 0.0007
"""Work of a test and of each of its seeds, in usual rows of a crop: 0.004 and 0.0002 of a variety
that nobody else keeps, which is 3.3 rows where a packet (0.03) is four plants of a row of forty."""
_LOOKED_AT = 200  # lots that promised most at the last step are weighed again at each
_CHUNK = 256
_FAR = 8.0  # probits: no count tells seed further off apart from the dead or the living
_ROOT_2_PI = np.sqrt(2.0 * np.pi)


@dataclass(frozen=True, slots=True)
class Spread:
    """How far each lot's probit viability may lie from its mean, (L,).

    ``sd`` is all of it; ``alone`` what it would be but for the lot's own tests if the shared
    effects were known; ``pace`` how far a unit of its shared effects moves it.
    """

    sd: FloatArray
    alone: FloatArray
    pace: FloatArray


def joint_covariance(spread: Spread, effects: SharedEffects, covariance: FloatArray) -> FloatArray:
    """Covariance (L, L) of probit viability, by effects of ``covariance`` (Q, Q).

    A lot's own tests leave a share q of what was open of it with the effects known, and it follows
    the effects by that share less: q is what makes its variance come out as it is.
    """
    design = np.zeros((spread.sd.size, effects.variance.size))
    rows = np.arange(spread.sd.size)[:, None]
    np.add.at(design, (rows, effects.effect), effects.share)
    design *= spread.pace[:, None]
    shared = np.einsum("lq,lq->l", design @ covariance, design)
    own, whole = spread.alone**2, spread.sd**2
    with np.errstate(divide="ignore", invalid="ignore"):
        open_share = 2.0 * whole / (own + np.sqrt(own**2 + 4.0 * shared * whole))
    design *= np.minimum(np.nan_to_num(open_share, nan=1.0), 1.0)[:, None]
    joint = design @ covariance @ design.T
    np.fill_diagonal(joint, whole)
    return np.asarray(joint)


@dataclass(frozen=True, slots=True)
class Questions:
    """What turns on how alive lots are, (P,): the lot, its mean above the level asked, in probits,
    and what a probit beyond the level costs him who took it for the other side."""

    lot: IntArray
    margin: FloatArray
    slope: FloatArray

    def worth(self, variance: FloatArray) -> FloatArray:
        """Worth (P, ...) of moving each question's lot with these variances (P, ...)."""
        shape = (-1,) + (1,) * (variance.ndim - 1)
        away = np.abs(self.margin).reshape(shape)
        moved = np.sqrt(np.maximum(variance, 1e-300))
        ratio = np.minimum(away / moved, 38.0)
        saved = moved * np.exp(-0.5 * ratio**2) / _ROOT_2_PI - away * ndtr(-ratio)
        return np.asarray(self.slope.reshape(shape) * np.maximum(saved, 0.0))

    def perfect(self, covariance: FloatArray) -> FloatArray:
        """Worth (P,) of knowing each lot's viability for sure."""
        return self.worth(np.diagonal(covariance)[self.lot])


def reading_error(
    mean: FloatArray, sd: FloatArray, level: FloatArray, seeds: IntArray, rho: float
) -> FloatArray:
    """Variance (L, S) of the probit that a test of ``seeds`` (S,) reads off lots (L,).

    p(1-p) / phi(probit p)^2 x (1 + (n-1) rho) / n, with p at the level asked, since near it the
    count decides, or where that is further than one sd from the mean, one sd off: so the closed
    form comes within 2 % (rms) of the sum over all counts, with p at the mean within 14 %.
    """
    at = np.clip(np.clip(level, mean - sd, mean + sd), -_FAR, _FAR)
    steepness = np.exp(-(at**2)) / (2.0 * np.pi) / (ndtr(at) * ndtr(-at))
    size = np.asarray(seeds, dtype=np.float64)
    return np.asarray((1.0 + (size - 1.0) * rho) / size / steepness[:, None])


@dataclass(frozen=True, slots=True)
class Belief:
    """The law of all lots once some have been tested.

    ``left`` (L, L) is their covariance then, ``moved`` (L,) the variance their means move by.
    """

    left: FloatArray
    moved: FloatArray

    @classmethod
    def untested(cls, covariance: FloatArray) -> "Belief":
        return cls(covariance, np.zeros(covariance.shape[0]))

    def with_test(self, lot: int, error: float) -> "Belief":
        """The same after one more test, of a lot with this error."""
        column = self.left[:, lot] / np.sqrt(self.left[lot, lot] + error)
        return Belief(self.left - np.outer(column, column), self.moved + column**2)

    def gain(self, questions: Questions, lots: IntArray, error: FloatArray) -> FloatArray:
        """What a test of each of ``lots`` (K,) with its error (K,) adds to the worth, (P, K)."""
        moved = self.moved[questions.lot][:, None]
        column = self.left[questions.lot[:, None], lots] ** 2 / (self.left[lots, lots] + error)
        return questions.worth(moved + column) - questions.worth(moved)


@dataclass(frozen=True, slots=True)
class Candidates:
    """Lots (K,) that may be tested, the size offered first of each, an index into ``SIZES``.

    ``error`` and ``cost`` (K, S) are of a test of each size, infinite in cost where seed is short.
    """

    lot: IntArray
    first: IntArray
    error: FloatArray
    cost: FloatArray


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One test of a batch: of which candidate, how many seeds.

    ``gain`` (P,) is what it adds to the worth of each question after the tests before it,
    ``by_size`` (S,) its sum for each size, ``narrowed`` (L,) the share of each lot's variance that
    it takes away. Before it, means moved by ``moved`` (L,) and the lot shared ``shared`` (L,) with
    each.
    """

    candidate: int
    size: int
    gain: FloatArray
    by_size: FloatArray
    narrowed: FloatArray
    moved: FloatArray
    shared: FloatArray

    def worth_if(self, questions: Questions, lot: int, error: float) -> float:
        """What it would add if its reading of the ``lot`` had this error."""
        taken = self.shared**2 / (self.shared[lot] + error)
        before, after = self.moved[questions.lot], (self.moved + taken)[questions.lot]
        return float((questions.worth(after) - questions.worth(before)).sum())

    @property
    def seeds(self) -> int:
        return SIZES[self.size]

    @property
    def worth(self) -> float:
        return float(self.gain.sum())


def sheets_of(size: int) -> int:
    """Paper towels that a test of a size takes: one for up to 25 seeds. Our choice."""
    return 1 + (SIZES[size] > 25)


def choose_batch(
    questions: Questions,
    belief: Belief,
    candidates: Candidates,
    most_tests: int,
    most_sheets: int | None = None,
) -> Iterator[Suggestion]:
    """The best tests, one after another, until one more would add less than it costs.

    ``belief`` holds what tests begun already will tell. The lot is chosen by the test offered
    first, then its size, from that one up, by what is left after costs. Past the first, each step
    weighs again the 200 lots that promised most.
    """
    looked_at = np.arange(candidates.lot.size)
    sheets = most_tests * max(map(sheets_of, range(len(SIZES))))
    sheets = sheets if most_sheets is None else most_sheets
    for _ in range(most_tests):
        net = _net(questions, belief, candidates, looked_at)
        if sheets < 1 or net.size == 0 or not net.max() > 0.0:
            return
        best = int(looked_at[np.argmax(net)])
        found = _sized(questions, belief, candidates, best, sheets)
        yield found
        error = float(candidates.error[best, found.size])
        belief = belief.with_test(int(candidates.lot[best]), error)
        sheets -= sheets_of(found.size)
        promising = np.argsort(-net, kind="stable")[:_LOOKED_AT]
        looked_at = np.sort(looked_at[promising])
        looked_at = looked_at[looked_at != best]


def _net(
    questions: Questions, belief: Belief, candidates: Candidates, which: IntArray
) -> FloatArray:
    """What each candidate's first test adds to the worth, less its cost."""
    lot, first = candidates.lot[which], candidates.first[which]
    error, net = candidates.error[which, first], -candidates.cost[which, first]
    for start in range(0, which.size, _CHUNK):
        part = slice(start, start + _CHUNK)
        net[part] += belief.gain(questions, lot[part], error[part]).sum(axis=0)
    return net


def _sized(
    questions: Questions, belief: Belief, candidates: Candidates, which: int, sheets: int
) -> Suggestion:
    lot, error = int(candidates.lot[which]), candidates.error[which]
    lots = np.full(error.size, lot)
    gain = belief.gain(questions, lots, error)
    by_size = gain.sum(axis=0)
    sizes = range(int(candidates.first[which]), error.size)
    net = by_size - candidates.cost[which]
    size = max((one for one in sizes if sheets_of(one) <= sheets), key=lambda one: net[one])
    variance = np.diagonal(belief.left)
    taken = belief.left[:, lot] ** 2 / (belief.left[lot, lot] + error[size])
    narrowed = np.divide(taken, variance, out=np.zeros_like(taken), where=variance > 0.0)
    shared = belief.left[:, lot].copy()
    return Suggestion(which, size, gain[:, size], by_size, narrowed, belief.moved, shared)


def batch_worth(
    questions: Questions, covariance: FloatArray, lots: IntArray, error: FloatArray
) -> float:
    """worth(T) of testing ``lots`` (T,) with these errors (T,), by the formula as it stands."""
    cross = covariance[:, lots]
    inner = covariance[np.ix_(lots, lots)] + np.diag(error)
    moved = np.einsum("lt,lt->l", cross, np.linalg.solve(inner, cross.T).T)
    return float(questions.worth(moved[questions.lot]).sum())


@dataclass(frozen=True, slots=True)
class Turn:
    """Where a test turns a decision: whether a lot is at or over the level now, the fewest alive
    that leave it there, the test's size plus one if none do, and the chance that the count puts it
    on the other side."""

    over_now: bool
    fewest_alive: int
    probability_changes: float


def turning_count(mean: float, sd: float, level: float, seeds: int, rho: float) -> Turn:
    """How a test of ``seeds`` turns on its count; probits. Judged by the mean share alive."""
    probit = np.linspace(mean - 6.0 * sd, mean + 6.0 * sd, 121)
    weight = np.exp(-0.5 * ((probit - mean) / sd) ** 2)
    nodes = ProbitNodes(probit[None], (weight / weight.sum())[None])
    joint = count_probabilities(nodes, seeds, np.array([rho]))[0] * nodes.weight[0][:, None]
    beyond = ndtr(probit) - ndtr(level)
    over = beyond @ joint >= 0.0
    over_now = bool(beyond @ nodes.weight[0] >= 0.0)
    chance = joint.sum(axis=0)
    fewest = int(np.argmax(over)) if over.any() else seeds + 1
    return Turn(over_now, fewest, float(chance[over != over_now].sum()))
