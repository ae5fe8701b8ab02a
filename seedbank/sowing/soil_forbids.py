"""Sowing advice where the soil says no: nothing to sow yet, whatever the seed could give."""

from typing import TypeVar

from seedbank.science.sowing.soil_warmth import UNFIT
from seedbank.sowing.answers.sowing_advice import (
    SowingAdviceAnswer,
    SowingPlanAnswer,
    VarietySowingAdviceAnswer,
)

Advice = TypeVar("Advice", bound=SowingPlanAnswer)
_ALL_THE_SAME = "Sown all the same, it would give the plants and chances shown here."


def soil_forbids(advice: SowingPlanAnswer) -> bool:
    """Whether the soil is too cold or too hot to sow at all."""
    return advice.soil.verdict in UNFIT


def unless_soil_forbids(advice: Advice) -> Advice:
    """The advice itself, or with no seed to sow and no layout where the soil is not fit."""
    if not soil_forbids(advice):
        return advice
    changes: dict[str, object] = {
        "seeds": 0,
        "enough": False,
        "row": None,
        "bed": None,
        "reasons": [advice.soil.text, _ALL_THE_SAME, *advice.reasons],
    }
    if isinstance(advice, SowingAdviceAnswer):
        changes |= {"grams": None, "stations": None, "cells": None, "by_feel": None}
    if isinstance(advice, VarietySowingAdviceAnswer):
        changes["lots"] = [share.model_copy(update={"seeds": 0}) for share in advice.lots]
    return advice.model_copy(update=changes)
