"""The fit of how long kinds keep, made over all packaged kinds and written to its table.

``python -m seedbank.facts.fit_keeping_table`` writes ``computed/keeping_fit.csv`` anew; a test
refits and fails where the table is of other evidence.
"""

import csv
from pathlib import Path

import numpy as np

from seedbank.facts.keeping import LEAST_RESIDUAL, SORTS, evidence_of
from seedbank.facts.kinds import packaged_kinds
from seedbank.science.viability.prior import KeepingModel, KeepingRows, fit_keeping

TABLE = Path(__file__).parent / "computed" / "keeping_fit.csv"
SOURCE = "Fitted by restricted maximum likelihood to the packaged tables of how long kinds keep"


def fitted_keeping() -> KeepingModel:
    """The fit over every packaged kind."""
    found = [
        (number, row.sort, row.log_sigma, row.extra_sd)
        for number, facts in enumerate(packaged_kinds().values())
        for row in evidence_of(facts)
    ]
    kind, sort, value, extra = (np.array(column) for column in zip(*found, strict=True))
    return fit_keeping(KeepingRows(kind, sort, value, extra, np.array(LEAST_RESIDUAL)))


def write_table(model: KeepingModel) -> None:
    """Put the fit down, each figure to ten digits."""
    of_sort = [
        (name, sort, value)
        for name in ("sort_offset", "residual_sd")
        for sort, value in zip(SORTS, getattr(model, name).tolist(), strict=True)
    ]
    at_large = ("kinds_mean", "kinds_sd", "common_sd", "kinds_compared")
    rows = of_sort + [(name, "", getattr(model, name)) for name in at_large]
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("figure", "sort", "value", "source", "confidence"))
        writer.writerows((*row[:2], f"{row[2]:.10g}", SOURCE, "computed") for row in rows)


if __name__ == "__main__":
    write_table(fitted_keeping())
