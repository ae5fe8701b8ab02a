"""A gardener's own values laid over the packaged facts, marked as their own."""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from seedbank.facts.kinds import KeptAs, KindFacts
from seedbank.facts.methods import TemperatureRegime
from seedbank.facts.sources import Confidence, Fact, Span, Spread
from seedbank.facts.storage_life import HalfViability, Longevity
from seedbank.facts.tables import span
from seedbank.science.quantities import Finding


class BadFact(Exception):  # noqa: N818 - reads as the sentence it raises
    """A gardener's value that can't be read; ``mend`` says what would be taken."""

    def __init__(self, name: str, value: str, mend: Finding) -> None:
        super().__init__(name, value, mend)
        self.name = name
        self.value = value
        self.mend = mend


@dataclass(frozen=True, slots=True)
class _Rule:
    """How one named value is read, where it goes in ``KindFacts`` and what to say if it can't."""

    field: str
    read: Callable[[str], Any]
    mend: Finding


def _number(low: float, high: float) -> Callable[[str], float]:
    def read(text: str) -> float:
        value = float(text)
        if not (math.isfinite(value) and low <= value <= high):
            raise ValueError
        return value

    return read


def _whole_number(low: int, high: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        value = int(text)
        if not low <= value <= high:
            raise ValueError
        return value

    return read


def _choice(*words: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text.lower() not in words:
            raise ValueError
        return text.lower()

    return read


def _words(text: str) -> str:
    if not text:
        raise ValueError
    return text


def _spread(low: float, high: float) -> Callable[[str], Spread]:
    number = _number(low, high)

    def read(text: str) -> Spread:
        printed = span(text) or Span(number(text), number(text))
        bottom, top = number(str(printed.low)), number(str(printed.high))
        if bottom > top:
            raise ValueError
        return Spread((bottom + top) / 2, bottom, top)

    return read


def _regimes(text: str) -> tuple[TemperatureRegime, ...]:
    spread = _spread(0.0, 45.0)(text)
    low, high = spread.low, spread.high
    return (TemperatureRegime(low or 0.0, high or 0.0),)


def _half_viability(text: str) -> HalfViability:
    years = _number(0.01, 2000.0)(text)
    return HalfViability(years, "as the gardener keeps it", None, None, None, None, False)


def _longevity(text: str) -> Longevity:
    years = _number(0.01, 2000.0)(text)
    return Longevity(years, years, "as the gardener knows it")


def _number_rule(field: str, low: float, high: float, unit: str) -> _Rule:
    return _Rule(field, _number(low, high), _within("own-fact-number", low, high, unit))


def _spread_rule(field: str, low: float, high: float, unit: str) -> _Rule:
    return _Rule(field, _spread(low, high), _within("own-fact-range", low, high, unit))


def _whole_rule(field: str, low: int, high: int, unit: str) -> _Rule:
    return _Rule(field, _whole_number(low, high), _within("own-fact-whole", low, high, unit))


def _within(code: str, low: float, high: float, unit: str) -> Finding:
    return Finding(code, {"low": low, "high": high, "unit": unit})


def _choice_rule(field: str, *words: str) -> _Rule:
    return _Rule(field, _choice(*words), _one_of(words))


def _one_of(words: Iterable[str]) -> Finding:
    return Finding("own-fact-choice", {"words": ", ".join(words)})


_YEARS = _within("own-fact-number", 0.01, 2000.0, "years")
RULES: Mapping[str, _Rule] = {
    "botanical": _Rule("botanical", _words, Finding("own-fact-botanical")),
    "crossing_group": _Rule("crossing_group", _words, Finding("own-fact-crossing-group")),
    "life_cycle": _choice_rule("life_cycle", "annual", "biennial", "perennial"),
    "mating": _choice_rule("mating", "selfing", "mixed", "outcrossing"),
    "storage_class": _choice_rule("storage_class", "orthodox", "recalcitrant", "unlisted"),
    "kept_as": _Rule("kept_as", lambda text: KeptAs(text.lower()), _one_of(KeptAs)),
    "keeps_years": _Rule("longevity", _longevity, _YEARS),
    "poisonous": _Rule(
        "poisonous", lambda text: _choice("yes", "no")(text) == "yes", _one_of(("yes", "no"))
    ),
    "minimum_germination_pct": _number_rule("minimum_germination_pct", 0, 100, "%"),
    "first_count_days": _whole_rule("first_count_days", 1, 365, "days"),
    "final_count_days": _whole_rule("final_count_days", 1, 365, "days"),
    "test_temperature_c": _Rule("test_temperatures", _regimes, Finding("own-fact-temperature")),
    "half_viability_years": _Rule("half_viability", _half_viability, _YEARS),
    "thousand_seed_weight_g": _spread_rule("thousand_seed_weight_g", 0.001, 50_000, "g"),
    "seedlings_per_unit": _spread_rule("seedlings_per_unit", 1, 20, "seedlings"),
    "depth_cm": _number_rule("depth_cm", 0, 50, "cm"),
    "in_row_cm": _spread_rule("in_row_cm", 0.1, 1000, "cm"),
    "row_cm": _spread_rule("row_cm", 0.1, 2000, "cm"),
    "soil_min_c": _number_rule("soil_min_c", -5, 45, "C"),
    "soil_opt_c": _number_rule("soil_opt_c", 0, 50, "C"),
    "isolation_home_m": _number_rule("isolation_home_m", 0, 20_000, "m"),
    "isolation_strict_m": _number_rule("isolation_strict_m", 0, 20_000, "m"),
    "seed_parents_maintain": _whole_rule("seed_parents_maintain", 1, 100_000, "plants"),
    "seed_parents_rare": _whole_rule("seed_parents_rare", 1, 100_000, "plants"),
}
"""Every value a gardener may state, by name."""


def with_overrides(
    facts: KindFacts | None,
    overrides: Mapping[str, tuple[str, str]],
    *,
    slug: str = "",
    name: str = "",
) -> KindFacts:
    """``facts`` with the gardener's values, each marked ``own``; all others stay as they are.

    ``overrides`` maps a name in ``RULES`` to (value, source). With ``facts`` None the kind is the
    gardener's own: nothing is known but what they say, ``storage_class`` is ``unlisted`` and a
    seed gives one seedling unless told otherwise. An own half-viability replaces the packaged
    evidence, and with it the packaged constants, which would else outweigh it; their word on how
    long it keeps replaces what lists say.

    Raises ``BadFact`` for an unknown name, a value that can't be read, an empty source, a first
    count after the final one or a strict isolation under the home one.
    """
    if facts and not overrides:
        return facts
    base = facts or _bare(slug, name)
    changes: dict[str, Any] = {}
    for fact_name, (value, source) in overrides.items():
        rule = RULES.get(fact_name)
        if rule is None:
            raise BadFact(fact_name, value, Finding("own-fact-name", {"words": ", ".join(RULES)}))
        changes |= _change(rule, _own(fact_name, rule, value, source))
    merged = replace(base, **changes)
    if "keeps_years" in overrides and merged.kept_as and merged.kept_as.value is not KeptAs.SEED:
        # Said of what is kept, not of its seed.
        (row,) = merged.longevity
        lasts = Span(row.value.years_low, row.value.years_high)
        years = Fact(lasts, row.source, row.confidence, row.note)
        merged = replace(merged, longevity=base.longevity, planting_stock_years=years)
    _check_order(merged, overrides, "first_count_days", "final_count_days")
    _check_order(merged, overrides, "isolation_home_m", "isolation_strict_m")
    _check_order(merged, overrides, "soil_min_c", "soil_opt_c")
    return merged


def _own(name: str, rule: _Rule, value: str, source: str) -> Fact[Any]:
    if not source.strip():
        raise BadFact(name, value, Finding("own-fact-source"))
    try:
        read = rule.read(value.strip())
    except ValueError:
        raise BadFact(name, value, rule.mend) from None
    return Fact(read, source.strip(), Confidence.OWN, "the gardener's own value")


def _change(rule: _Rule, fact: Fact[Any]) -> dict[str, Any]:
    if rule.field == "half_viability":
        return {"half_viability": (fact,), "viability_constants": None, "older_constants": None}
    if rule.field == "longevity":
        return {rule.field: (fact,)}
    if rule.field == "seedlings_per_unit" and (fact.value.high or 1.0) > 1.0:
        return {rule.field: fact, "seed_unit": replace(fact, value="cluster")}
    return {rule.field: fact}


def _bare(slug: str, name: str) -> KindFacts:
    def assumed(value: Any) -> Fact[Any]:
        return Fact(value, "Assumed until the gardener says otherwise", Confidence.COMPUTED)

    return KindFacts(
        slug=slug,
        name=name,
        botanical=None,
        family=None,
        group=None,
        storage_class=assumed("unlisted"),
        seed_unit=assumed("seed"),
        seedlings_per_unit=assumed(Spread(1.0, 1.0, 1.0)),
    )


def _check_order(
    facts: KindFacts, overrides: Mapping[str, tuple[str, str]], lower: str, upper: str
) -> None:
    """Two values that must rise, looked at only when the gardener gave one of them."""
    low: Fact[float] | None = getattr(facts, lower)
    high: Fact[float] | None = getattr(facts, upper)
    given = upper if upper in overrides else lower if lower in overrides else None
    if given is None or low is None or high is None or low.value <= high.value:
        return
    values: dict[str, float | str] = {
        "lower": lower, "low": low.value, "upper": upper, "high": high.value,
    }  # fmt: skip
    raise BadFact(given, overrides[given][0], Finding("own-fact-order", values))
