"""How much of a variety's diversity its saved lots still hold: drift over a pedigree of lots.

Drift through Ne plants leaves 1 - 1/(2 Ne) of the expected heterozygosity each generation, and
over generations the harmonic mean of Ne rules. A lot may come of several lots, so the share lost
is reckoned through the chance that two genes are copies of one founder gene: for a lot raised from
a pool of lots in shares w,

    kin(lot) = 1/(2 Ne) + (1 - 1/(2 Ne)) x sum_ij w_i w_j kin(i, j)
    kin(lot, other) = sum_i w_i kin(i, other)

and kept is 1 - kin. Lots without recorded parents are founders: unrelated, nothing lost yet.

Sources: S. Wright, Genetics 16:97-159 (1931) and Science 87:430-431 (1938); J.F. Crow & M. Kimura,
An Introduction to Population Genetics Theory (1970), ch. 7; D.S. Falconer & T.F.C. Mackay,
Introduction to Quantitative Genetics (1996), ch. 4 (formulas and citations from memory).

Outside checks: printed worked examples, exact binomial sampling, simulated drift with fixed seed.

What to warn of when a variety is kept on few plants.

Outcrossers suffer from inbreeding, selfers hardly: they lose only diversity. The numbers of plants
that a kind asks for come from the facts. Ne of 50 against inbreeding and 500 to stay adaptable is
a rule of thumb: I.R. Franklin in Conservation Biology, ed. Soulé & Wilcox (1980), 135-149 (from
memory).

Outside check: the limits themselves, written out.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from seedbank.science.crossing.crossing_risk import Mating
from seedbank.science.quantities import BoolArray, Finding, FloatArray


@dataclass(frozen=True, slots=True)
class PedigreeDrift:
    """Drift of each lot in a pedigree, arrays (L,) in the order given.

    ``kept`` is the share of the founders' expected heterozygosity still there, ``inbreeding`` what
    is gone (1 - kept), ``generations`` the seed generations since the founders (the mean over a
    mixed lot's ancestry), ``effective_number`` the constant Ne that would lose as much in as many
    (infinite where nothing is lost), ``unknown_steps`` the generations whose parents weren't
    counted, likewise a mean: for these no loss was reckoned, so ``kept`` is then a ceiling.
    ``kinship`` (L, L) holds the chance that a gene of one and a gene of the other are copies.
    """

    kept: FloatArray
    inbreeding: FloatArray
    generations: FloatArray
    effective_number: FloatArray
    unknown_steps: FloatArray
    kinship: FloatArray


def effective_with_selfing(plants: ArrayLike, selfed_share: ArrayLike) -> FloatArray:
    """Ne of ``plants`` of which a share ``selfed_share`` (0..1) of the seed is selfed: N/(1 + F).

    F = s/(2 - s), where selfing has settled; half the plants for a full selfer. Crow & Kimura
    1970 (from memory). Raises ``ValueError`` for a share outside 0..1. Outside check: simulated
    drift under partial selfing.
    """
    share = np.asarray(selfed_share, dtype=np.float64)
    if np.any(~((share >= 0.0) & (share <= 1.0))):
        raise ValueError(f"a share selfed lies in 0..1, got {selfed_share!r}")
    return np.asarray(_numbers(plants) / (1.0 + share / (2.0 - share)), dtype=np.float64)


def pedigree_drift(contributions: FloatArray, effective: FloatArray) -> PedigreeDrift:
    """Drift of every lot of a pedigree, mixed lots included.

    ``contributions`` (L, L): row = lot, column = the lot its parents grew from, in shares that sum
    to 1; a founder's row is all 0. Lots come after those they stem from (see ``pedigree_order``).
    ``effective`` (L,) is the effective number of seed parents, infinite where lots were only mixed,
    NaN where uncounted; a founder's is not used. The parents of a mixed lot are taken as drawn at
    random from the pool. Raises ``ValueError`` for shares out of order, negative or not summing to
    1, and for an effective number under half. Outside check: the product formula on a single line,
    simulated drift of a mixed pedigree.
    """
    numbers = np.asarray(effective, dtype=np.float64)
    founder = _check_contributions(contributions, numbers)
    count = numbers.size
    kin, generations, unknown = np.zeros((count, count)), np.zeros(count), np.zeros(count)
    for lot in np.flatnonzero(~founder):
        shares = contributions[lot, :lot]
        with_others = shares @ kin[:lot, :lot]
        drawn_twice = 0.0 if np.isnan(numbers[lot]) else 1.0 / (2.0 * numbers[lot])
        kin[lot, :lot] = kin[:lot, lot] = with_others
        kin[lot, lot] = drawn_twice + (1.0 - drawn_twice) * float(with_others @ shares)
        grown = 0.0 if np.isinf(numbers[lot]) else 1.0
        generations[lot] = grown + shares @ generations[:lot]
        unknown[lot] = float(np.isnan(numbers[lot])) + shares @ unknown[:lot]
    kept = 1.0 - np.diag(kin)
    return PedigreeDrift(
        kept, np.diag(kin).copy(), generations, _constant_number(kept, generations), unknown, kin
    )


def pedigree_order(
    parents: Mapping[Hashable, Sequence[Hashable]],
) -> tuple[tuple[Hashable, ...], FloatArray]:
    """Lots with parents first, and their contributions (L, L) in equal shares.

    ``parents`` maps a lot to its parent lots; parents not among its keys become founders. Raises
    ``ValueError`` for a lot that descends from itself. Outside check: every lot comes after its
    parents, by property test.
    """
    order: dict[Hashable, int] = {}
    for lot in parents:
        _place(lot, parents, order)
    shares = np.zeros((len(order), len(order)))
    for lot, row in order.items():
        stems = tuple(dict.fromkeys(parents.get(lot, ())))
        for stem in stems:
            shares[row, order[stem]] = 1.0 / len(stems)
    return tuple(order), shares


def _place(
    lot: Hashable, parents: Mapping[Hashable, Sequence[Hashable]], order: dict[Hashable, int]
) -> None:
    """Depth first without recursion: a lot is numbered once all its parents are."""
    open_lots: dict[Hashable, None] = {}
    stack = [lot]
    while stack:
        top = stack[-1]
        waiting = [stem for stem in parents.get(top, ()) if stem not in order]
        if top in order or not waiting:
            order.setdefault(top, len(order))
            open_lots.pop(top, None)
            stack.pop()
            continue
        open_lots[top] = None
        if any(stem in open_lots for stem in waiting):
            raise ValueError(f"lot {top!r} descends from itself")
        stack.extend(waiting)


def _check_contributions(contributions: FloatArray, effective: FloatArray) -> BoolArray:
    """Which lots are founders; raises for a pedigree that can't be."""
    if contributions.shape != (effective.size, effective.size):
        raise ValueError(f"contributions must be square over the lots, got {contributions.shape}")
    if np.any(np.triu(contributions) != 0.0) or np.any(~(contributions >= 0.0)):
        raise ValueError("each lot must come after its parents, with shares of 0 or more")
    total = contributions.sum(axis=1)
    founder = np.asarray(total == 0.0, dtype=np.bool_)
    if not np.allclose(total[~founder], 1.0):
        raise ValueError("the shares of a lot's parents must sum to 1")
    if np.any(effective[~founder] < 0.5):
        raise ValueError("an effective number of parents must be half or more")
    return founder


def _constant_number(kept: FloatArray, generations: FloatArray) -> FloatArray:
    """The Ne that loses as much in as many generations; NaN without a generation."""
    if_any = np.where(generations > 0.0, generations, 1.0)
    lost_each = 1.0 - kept ** (1.0 / if_any)
    with np.errstate(divide="ignore"):
        constant = np.where(lost_each > 0.0, 1.0 / (2.0 * lost_each), np.inf)
    return np.where(generations > 0.0, constant, np.nan)


def _numbers(effective: ArrayLike) -> FloatArray:
    numbers = np.asarray(effective, dtype=np.float64)
    if np.any(~(numbers > 0.0)):
        raise ValueError(f"effective numbers must be above 0, got {effective!r}")
    return numbers


SHORT_TERM_NUMBER = 50
"""Effective number under which inbreeding grows by over 1 % a generation (from memory)."""

LONG_TERM_NUMBER = 500
"""Effective number to keep a population adaptable for good (from memory)."""

_NOTABLE_LOSS = 0.1  # share of diversity gone that is worth saying: our choice


def drift_cautions(
    mating: Mating,
    parents: int | None,
    parents_to_maintain: int | None,
    effective_number: float,
    kept: float,
    unknown_steps: float = 0.0,
) -> tuple[Finding, ...]:
    """Cautions for a lot: too few parents, inbreeding over its pedigree, and what isn't known.

    ``parents`` is the number it was saved from and ``parents_to_maintain`` what its kind asks
    (plants); ``effective_number``, ``kept`` (0..1) and ``unknown_steps`` are from
    ``PedigreeDrift``. Limits of ours; 50/500 after Franklin 1980 (from memory).
    Outside check: the limits, written out.
    """
    found: list[Finding] = []
    crosses = mating is not Mating.SELFING
    if parents is not None and parents_to_maintain is not None and parents < parents_to_maintain:
        few = {"parents": parents, "parents_to_maintain": parents_to_maintain}
        found.append(Finding("too-few-parents" if crosses else "few-parents", few))
    if crosses and effective_number < SHORT_TERM_NUMBER:
        drift = {
            "effective_number": effective_number,
            # One generation costs 1/(2 Ne): at 50 it is 1 %.
            "inbreeding_each_generation": 1.0 / (2.0 * effective_number),
            "short_term_number": SHORT_TERM_NUMBER,
            "long_term_number": LONG_TERM_NUMBER,
        }
        found.append(Finding("inbreeding", drift))
    if kept <= 1.0 - _NOTABLE_LOSS:
        found.append(
            Finding("diversity-lost", {"kept": kept, "lost": 1.0 - kept, "mating": mating})
        )
    if unknown_steps > 0.0:
        uncounted = {"unknown_steps": unknown_steps, "generations": max(unknown_steps, 1.0)}
        found.append(Finding("parents-uncounted", uncounted))
    return tuple(found)
