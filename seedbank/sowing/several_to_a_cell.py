"""Cells of several plants each, where a kind is sown so."""

import math

from seedbank.emergence.tables import SowingMethod
from seedbank.facts.seeding_rates import usual_rate
from seedbank.facts.sources import Basis
from seedbank.lots.tables.lots import SeedForm
from seedbank.science.quantities import Finding, Value
from seedbank.science.sowing.crop_filling import RHO_AT_A_PLACE
from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.multi_sown import (
    LEAST_TOGETHER,
    MOST_TIMES_PRINTED,
    multi_sown,
    usual_together,
)
from seedbank.science.sowing.usual_rate import good_emergence
from seedbank.sowing.answers import SeveralAnswer
from seedbank.sowing.setting import Setting
from seedbank.sowing.sowable_lots import SowableLot
from seedbank.sowing.sowing_rate import SowingPlace

_MOST_UNPRINTED = 12  # units a cell where nothing is printed: our choice


def several_to_a_cell(
    place: SowingPlace, setting: Setting, lot: SowableLot, emergence: WeightedNodes, available: int
) -> SeveralAnswer | None:
    """Cells of several plants, for the plants wanted in all; None: the kind is not sown so and
    nobody asked, it isn't sown in cells, or its seed is pelleted, which goes one a cell."""
    asked = setting.plants_a_cell
    if setting.method is not SowingMethod.MODULE or lot.lot.seed_form is SeedForm.PELLETED:
        return None
    printed = usual_rate(place.facts.slug, "module", place.spacing_cm, several=True)
    own = printed is not None and printed.basis is not Basis.STAND_IN
    if asked is None and not own:
        return None
    good = good_emergence(place.shift, place.lost).mean
    usual = LEAST_TOGETHER if printed is None else usual_together(printed.low, printed.high, good)
    together = asked or usual
    most = _MOST_UNPRINTED
    if printed is not None:
        most = max(1, math.floor(MOST_TIMES_PRINTED * printed.high * max(together / usual, 1.0)))
    seedlings = place.facts.seedlings_per_unit.value.typical
    sown = multi_sown(emergence, together, min(most, available), RHO_AT_A_PLACE["cell"], seedlings)
    cells = min(-(-setting.plants // together), max(available // sown.units, 1))
    if setting.most_cells is not None:
        cells = min(cells, setting.most_cells)
    values: dict[str, Value] = {
        "cells": cells, "units": sown.units, "together": together, "low": sown.low,
        "high": sown.high, "p_empty": sown.empty, "seeds": cells * sown.units,
        "printed_low": printed.low if own and printed else None,
        "printed_high": printed.high if own and printed else None,
    }  # fmt: skip
    return SeveralAnswer.of(
        Finding("several-to-a-cell", values),
        cells=cells,
        seeds_per_cell=sown.units,
        seeds=cells * sown.units,
        plants_a_cell=together,
        likely_plants=round(sown.mean, 1),
        empty_pct=round(100.0 * sown.empty, 1),
        asked=asked is not None,
    )
