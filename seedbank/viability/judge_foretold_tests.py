"""How well viability was foretold: every test held against what was believed before it."""

from collections.abc import Sequence
from datetime import date
from typing import Final

import numpy as np
from sqlmodel import Session

from seedbank.common.answers import FindingAnswer, PercentAnswer, finding_answers
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import changes, topics_of
from seedbank.database.lanes import JUDGEMENTS
from seedbank.science.germination.proportion import proportion_interval
from seedbank.science.quantities import Finding
from seedbank.viability.answers import (
    ForecastsOfASortAnswer,
    ForetoldTestAnswer,
    ForetoldTestsAnswer,
)
from seedbank.viability.foretell_tests import read_foretold_tests
from seedbank.viability.tables.change_topics import ALIVE
from seedbank.viability.tables.forecasts import ViabilityForecast

LAST_TESTS: Final = 20
_FORETOLD: CacheRegion[ForetoldTestsAnswer] = CacheRegion(lane=JUDGEMENTS)


def judge_foretold_tests(session: Session, *, today: date) -> ForetoldTestsAnswer:
    """The record so far; kept in memory while nothing it rests on has changed."""
    state = (today, *changes(session, (*ALIVE, *topics_of(ViabilityForecast))))
    return _FORETOLD.get(session, state, lambda: judge(read_foretold_tests(session, today=today)))


def judge(foretold: Sequence[ForetoldTestAnswer]) -> ForetoldTestsAnswer:
    """Compare what was foretold with what came; the latest first."""
    last = foretold[:LAST_TESTS]
    inside = {"tests": len(last), "inside": sum(_inside_90(one) for one in last)}
    score, alone = _log_scores(foretold)
    return ForetoldTestsAnswer(
        tests=len(foretold),
        inside_90=share_of([_inside_90(one) for one in foretold]),
        log_score=score,
        alone_log_score=alone,
        last=FindingAnswer.of(Finding("tests-foretold-last", inside)) if last else None,
        items=list(foretold),
        reasons=finding_answers(_reasons(foretold, score, alone)),
    )


def by_sort(answer: ForetoldTestsAnswer) -> list[ForecastsOfASortAnswer]:
    """Those kept on the day and those worked out afterwards, each where there are any."""
    return [
        _sort("tests-afterwards" if afterwards else "tests-kept", items)
        for afterwards in (False, True)
        if (items := [one for one in answer.items if one.afterwards is afterwards])
    ]


def _sort(code: str, items: Sequence[ForetoldTestAnswer]) -> ForecastsOfASortAnswer:
    score, alone = _log_scores(items)
    return ForecastsOfASortAnswer.of(
        Finding(code),
        forecasts=len(items),
        inside_50=share_of([one.low_50 <= one.viable <= one.high_50 for one in items]),
        inside_90=share_of([_inside_90(one) for one in items]),
        log_score=score,
        alone_log_score=alone,
    )


def share_of(hits: Sequence[bool]) -> PercentAnswer | None:
    """How many hit, with the interval; None of none."""
    if not hits:
        return None
    number = sum(hits)
    return PercentAnswer.of(number / len(hits), proportion_interval(number, len(hits)))


def _inside_90(one: ForetoldTestAnswer) -> bool:
    return one.low_90 <= one.viable <= one.high_90


def _log_scores(
    foretold: Sequence[ForetoldTestAnswer],
) -> tuple[float | None, float | None]:
    """Mean log scores, and without other lots' tests; of tests not corrected since alone."""
    scored = [one for one in foretold if one.viable == one.viable_at_end]
    if not scored:
        return None, None
    both = np.mean([(one.log_score, one.alone_log_score) for one in scored], axis=0)
    return round(float(both[0]), 3), round(float(both[1]), 3)


def _reasons(
    foretold: Sequence[ForetoldTestAnswer], score: float | None, alone: float | None
) -> list[Finding]:
    if not foretold:
        return [Finding("tests-foretold-none")]
    found = []
    afterwards = sum(one.afterwards for one in foretold)
    if kept := len(foretold) - afterwards:
        found.append(Finding("tests-foretold-kept", {"tests": kept}))
    if afterwards:
        found.append(Finding("tests-foretold-afterwards", {"tests": afterwards}))
    if score is not None and alone is not None:
        found.append(Finding("tests-foretold-gain", {"times": float(np.exp(score - alone))}))
    return found
