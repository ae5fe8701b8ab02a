"""Sowing advice told to people."""

from seedbank.cli.screen import (
    bullets,
    heading,
    name_of,
    percent,
    screen,
    table,
    told_cautions,
    told_sources,
)
from seedbank.sowing.advise_sowing import soil_forbids
from seedbank.sowing.answers import ByFeelAnswer, CountAnswer, SowingAdviceAnswer


def show(answer: SowingAdviceAnswer) -> None:
    """How much to sow first, then how, then why."""
    console = screen()
    console.print(
        f"{answer.plants_wanted} plants of {name_of(answer.variety)} from lot {answer.lot}, "
        f"sown {answer.sow_on.isoformat()} ({answer.method.value}, {answer.protection.value}):"
    )
    console.print(_verdict(answer), style="bold")
    table(("", ""), [("amount", _amount(answer)), *_layout(answer), *_expected(answer)])
    if answer.soil.text and not soil_forbids(answer):
        console.print(answer.soil.text)
    _list("Instead", [one.text for one in answer.alternatives])
    _list("Why", answer.reasons)
    _list("Mind", answer.warnings)
    told_cautions(answer.cautions)
    told_sources(answer.sources)


def _verdict(answer: SowingAdviceAnswer) -> str:
    if soil_forbids(answer):
        return answer.soil.text
    if answer.enough:
        return (
            f"Sow {answer.seeds} seeds; that gives them with {answer.confidence_pct:.0f} % "
            "certainty."
        )
    return (
        f"{_all_of(answer)} {answer.seeds} seeds give {answer.sure_plants} plants with "
        f"{answer.confidence_pct:.0f} % certainty, and the chance of {answer.plants_wanted} is "
        f"{answer.chance_of_enough.pct:.0f} %."
    )


def _all_of(answer: SowingAdviceAnswer) -> str:
    return "Even" if answer.seeds_available is None else "Too little: all"


def _amount(answer: SowingAdviceAnswer) -> str:
    of = "" if answer.seeds_available is None else f" of {answer.seeds_available}"
    said = f"{answer.seeds}{of} seeds"
    if answer.kept_back:
        said += f" ({answer.kept_back} more are kept back)"
    if answer.grams is not None:
        weight = answer.grams
        said += f", {_g(weight.grams)} g ({_g(weight.low_g)} to {_g(weight.high_g)})"
    return said


def _g(grams: float) -> str:
    return f"{grams:.2g}" if grams < 10 else f"{grams:.0f}"


def _layout(answer: SowingAdviceAnswer) -> list[tuple[str, str]]:
    """Rows on how the seed is laid out, those that go with the method."""
    rows = []
    if answer.depth_cm is not None:
        rows.append(("depth", f"{answer.depth_cm:.1f} cm"))
    if (row := answer.row) is not None:
        rows.append(
            (
                "row",
                f"{row.row_m:.1f} m, {row.seeds_per_m:.0f} seeds a metre (one every "
                f"{row.cm_between_seeds:.2g} cm), thinned to {row.final_spacing_cm:.0f} cm",
            )
        )
    if (places := answer.stations) is not None:
        rows.append(
            (
                "stations",
                f"{places.stations} of {places.seeds_per_station} seeds, "
                f"{places.spacing_cm:.0f} cm apart; filled: {percent(places.station_filled)}",
            )
        )
    if (tray := answer.cells) is not None:
        rows.append(
            (
                "cells",
                f"{tray.cells} of {tray.seeds_per_cell} seeds; filled: {percent(tray.cell_filled)}",
            )
        )
    if (bed := answer.bed) is not None:
        rows.append(("bed", f"{bed.area_m2:.2g} m², {bed.seeds_per_m2:.0f} seeds a m²"))
    return rows


def _expected(answer: SowingAdviceAnswer) -> list[tuple[str, str]]:
    rows = [
        ("alive", percent(answer.viability) if answer.reckoned else "not known"),
        ("comes up", percent(answer.emergence)),
        ("plants", _count(answer.plants)),
        ("to thin", _count(answer.to_thin)),
    ]
    if answer.soil.days_to_emergence is not None:
        rows.append(("comes up in", f"{answer.soil.days_to_emergence:.0f} days"))
    if answer.by_feel is not None:
        rows.append(("by feel", _by_feel(answer.by_feel)))
    return rows


def _count(count: CountAnswer) -> str:
    return f"{count.median:.0f} ({count.low:.0f} to {count.high:.0f})"


def _by_feel(feel: ByFeelAnswer) -> str:
    told = (
        f"{feel.seeds_saved} seeds and the thinning of {feel.seedlings_not_thinned:.0f} seedlings "
        "saved"
        if feel.seeds_saved >= 0
        else f"{-feel.seeds_saved} seeds too few"
    )
    return f"{feel.seeds} seeds; {told} ({feel.basis})"


def _list(title: str, lines: list[str]) -> None:
    if lines:
        heading(title)
        bullets(lines)
