"""Published seed rates: the usual range of a kind sown in one way, and where it comes from.

Left out are rows that print what to buy, or what was sown a century ago: they run two to ten times
higher. A kind without a row has its nearest relative's: of its family, sown so, at the spacing
nearest to the one asked.
"""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from seedbank.facts import loaders
from seedbank.facts.kind_rows import SeedingRateRow
from seedbank.facts.kinds import KindFacts
from seedbank.facts.names import matches
from seedbank.facts.sources import Basis, Source
from seedbank.science.sowing.sowing_costs import LARGE_SEED_G

_NO_RATE = ("OLD", "amount to buy")
_HILL = math.log(2.0)  # further off than alike; our choice
_ALIKE = 1.5  # spacings within so much of each other are the same; our choice
SPACED_FROM_G = 8.0
"""Thousand-seed weight from which seed is set one by one; our choice."""
UNKNOWN_SPACING_CM = 20.0
"""Final distance in the row where nothing is known of the kind; our choice."""
_SET_ONE_BY_ONE = frozenset({"parsnip"})  # light, but large and flat: common practice
# What is not moved as a seedling: common practice, no single source.
_NOT_MOVED_FAMILIES = frozenset({"Fabaceae", "Cucurbitaceae"})
_ROOTS = frozenset({"carrot", "parsnip", "radish", "turnip", "swede", "salsify", "scorzonera"})


@dataclass(frozen=True, slots=True)
class UsualRate:
    """Units a metre of row, a station or a cell, ``low`` to ``high``.

    ``kind`` is whose it is: the kind's own, or the relative's that stands in. ``thinned`` says
    whether a row is thinned; multi-sown cells are not.
    """

    low: float
    high: float
    kind: str
    basis: Basis
    thinned: bool
    sources: tuple[Source, ...]

    @property
    def middle(self) -> float:
        """Geometric middle."""
        return math.sqrt(self.low * self.high)


@dataclass(frozen=True, slots=True)
class PrintedRate:
    """One printed rate; ``spacing_cm`` after thinning, None where not printed."""

    kind: str
    method: str
    low: float
    high: float
    spacing_cm: tuple[float, float] | None
    thinned: bool
    source: Source


@cache
def printed_rates() -> tuple[PrintedRate, ...]:
    """Every printed rate that is a rate of today's."""
    return tuple(
        rate
        for row in loaders.seeding_rates()
        if not any(word in row.conditions for word in _NO_RATE)
        for rate in _read(row, row.kind)
    )


def _read(row: SeedingRateRow, kind: str) -> Iterator[PrintedRate]:
    printed = {
        "row": (row.seeds_per_m_low, row.seeds_per_m_high),
        "station": _span(row.seeds_per_station),
        "module": _span(row.seeds_per_cell),
    }[row.method]
    if printed is not None and printed[0] is not None and printed[1] is not None:
        spacing = _span(row.spacing_after_thinning_cm)
        yield PrintedRate(
            kind, row.method, printed[0], printed[1], spacing, row.thinning == "yes", row.source
        )


def way_of_sowing(facts: KindFacts, method: str) -> str:
    """How a kind's seed is sown by a ``method``, one of ``crop_filling.WAYS``."""
    if method in ("station", "module"):
        return "station" if method == "station" else "cell"
    usual = usual_rate(facts.slug, "row", usual_spacing_cm(facts))
    weight = facts.thousand_seed_weight_g
    if usual is not None and not usual.thinned:
        return "to-stand"
    each = facts.slug in _SET_ONE_BY_ONE or (
        weight is not None and weight.value.typical >= SPACED_FROM_G
    )
    return "spaced" if each and method == "row" else "drilled"


def seed_price_class(facts: KindFacts) -> str:
    """``large`` or ``fine``, as ``sowing_costs`` prices it."""
    weight = facts.thousand_seed_weight_g
    return "large" if weight is not None and weight.value.typical >= LARGE_SEED_G else "fine"


def may_be_pricked_out(facts: KindFacts) -> bool:
    """Whether seedlings stand being moved: not roots, beans or cucurbits."""
    family = "" if facts.family is None else facts.family.value
    return family not in _NOT_MOVED_FAMILIES and facts.slug not in _ROOTS


def usual_spacing_cm(facts: KindFacts) -> float:
    """Final distance of a kind's plants in the row, and of those nobody gives one for."""
    return UNKNOWN_SPACING_CM if facts.in_row_cm is None else facts.in_row_cm.value.typical


def _span(text: str) -> tuple[float, float] | None:
    """``4-5`` or ``1-2, thinned to 1`` as its first two numbers; None without any."""
    found = re.match(r"\s*([\d.]+)(?:-([\d.]+))?", text)
    return None if found is None else (float(found[1]), float(found[2] or found[1]))


@cache
def usual_rate(
    slug: str, method: str, spacing_cm: float, *, several: bool = False
) -> UsualRate | None:
    """The usual range of a kind by ``method`` (``row``, ``station``, ``module``) at a spacing.

    ``several`` asks for cells of several plants each. None: nothing is printed of it or its family.
    """
    own = [
        rate
        for m in matches(loaders.seeding_rates, slug)
        if m.row.method == method and not any(word in m.row.conditions for word in _NO_RATE)
        for rate in _read(m.row, slug)
        if _fits(rate, method, spacing_cm, several)
    ]
    if own:
        basis = min((m.basis for m in matches(loaders.seeding_rates, slug)), key=list(Basis).index)
        return _range(own, slug, basis, spacing_cm)
    near = _relative(slug, method, spacing_cm, several)
    return None if near is None else _range(near, near[0].kind, Basis.STAND_IN, spacing_cm)


def _fits(rate: PrintedRate, method: str, spacing_cm: float, several: bool) -> bool:
    """Whether a rate is of places like those asked for: of cells, of so many plants each; of
    stations, not of hills that lie far further apart, where several plants stand."""
    if method == "module":
        return rate.thinned != several
    return method != "station" or rate.spacing_cm is None or _far(rate, spacing_cm) <= _HILL


def _range(rates: Sequence[PrintedRate], kind: str, basis: Basis, spacing_cm: float) -> UsualRate:
    """Lowest to highest of the rates for this spacing, or where none is, of all."""
    fitting = [rate for rate in rates if _far(rate, spacing_cm) <= 0.0]
    used = fitting or [rate for rate in rates if rate.spacing_cm is None] or list(rates)
    return UsualRate(
        min(rate.low for rate in used),
        max(rate.high for rate in used),
        kind,
        basis,
        2 * sum(rate.thinned for rate in used) >= len(used),
        tuple(dict.fromkeys(rate.source for rate in used)),
    )


def _far(rate: PrintedRate, spacing_cm: float) -> float:
    """How far a rate's spacing is from one asked, as a logarithm; 0 within half as much again."""
    if rate.spacing_cm is None:
        return math.inf
    low, high = rate.spacing_cm
    return max(0.0, math.log(low / _ALIKE / spacing_cm), math.log(spacing_cm / high / _ALIKE))


def _relative(slug: str, method: str, spacing_cm: float, several: bool) -> list[PrintedRate] | None:
    """The rates of the relative printed for the nearest spacing; None in a family without any."""
    families = {row.slug: row.family for row in loaders.kinds()}
    if not families.get(slug):
        return None
    found: dict[str, list[PrintedRate]] = {}
    for other, family in families.items():
        if family == families[slug] and other != slug:
            for m in matches(loaders.seeding_rates, other):
                if m.row.method == method and not any(w in m.row.conditions for w in _NO_RATE):
                    found.setdefault(other, []).extend(
                        r for r in _read(m.row, other) if _fits(r, method, spacing_cm, several)
                    )
    near = {other: rates for other, rates in found.items() if rates}
    if not near:
        return None
    return near[min(near, key=lambda o: (min(_far(rate, spacing_cm) for rate in near[o]), o))]
