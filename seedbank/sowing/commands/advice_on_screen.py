"""Sowing advice told to people."""

from collections.abc import Sequence

from seedbank.cli.screen import (
    bullets,
    heading,
    name_of,
    percent,
    screen,
    show_cautions,
    show_sources,
    table,
    words,
)
from seedbank.common.answers import FindingAnswer
from seedbank.sowing.advise_sowing import soil_forbids
from seedbank.sowing.answers import ByFeelAnswer, CountAnswer, RateAnswer, SowingAdviceAnswer


def show(answer: SowingAdviceAnswer) -> None:
    """How much to sow first, then how, then why."""
    console = screen()
    console.print(
        words(
            "sow-question",
            plants=answer.plants_wanted,
            variety=name_of(answer.variety),
            lot=answer.lot,
            sow_on=answer.sow_on,
            method=words("sowing-method", choice=answer.method),
            protection=words("sowing-protection", choice=answer.protection),
        )
    )
    console.print(_verdict(answer), style="bold")
    if answer.out_of_season is not None:
        console.print(answer.out_of_season.text)
    lines = {"amount": _amount(answer), **_rate(answer.rate), **_layout(answer)}
    lines |= _expected(answer)
    table(("", ""), [(words("sow-line", value=name), line) for name, line in lines.items()])
    for more in (answer.several, answer.successions):
        if more is not None:
            console.print(more.text)
    if answer.soil.text and not soil_forbids(answer):
        console.print(answer.soil.text)
    _list("instead", answer.alternatives)
    _list("why", answer.reasons)
    _list("mind", answer.warnings)
    show_cautions(answer.cautions)
    show_sources(answer.sources)


def _verdict(answer: SowingAdviceAnswer) -> str:
    if soil_forbids(answer):
        return answer.soil.text
    if answer.confidence_pct is None:
        return f"{answer.rate.sign.text} {answer.rate.say.text}"
    if answer.enough:
        return words("sow-enough", seeds=answer.seeds, confidence_pct=answer.confidence_pct)
    return words(
        "sow-too-little",
        counted=answer.seeds_available is not None,
        seeds=answer.seeds,
        sure_plants=answer.sure_plants,
        confidence_pct=answer.confidence_pct,
        plants=answer.plants_wanted,
        p_enough=answer.chance_of_enough.pct / 100.0,
    )


def _amount(answer: SowingAdviceAnswer) -> str:
    return words(
        "sow-amount",
        seeds=answer.seeds,
        available_seeds=answer.seeds_available,
        kept_back_seeds=answer.kept_back,
        **(answer.grams.model_dump() if answer.grams else {"grams": None}),
    )


def _rate(rate: RateAnswer) -> dict[str, str]:
    """Usual, this lot, how sure, plan B."""
    plan_b = {} if rate.plan_b is None else {"plan-b": rate.plan_b.text}
    return {"usual": rate.usual.text, "lot": rate.why.text, "sure": rate.sure.text, **plan_b}


def _layout(answer: SowingAdviceAnswer) -> dict[str, str]:
    """How the seed is laid out, what goes with the method."""
    lines = {}
    if answer.depth_cm is not None:
        lines["depth"] = words("sow-depth", depth_cm=answer.depth_cm)
    if answer.row is not None:
        lines["row"] = words("sow-row", **answer.row.model_dump())
    if answer.rate.hand is not None:
        lines["hand"] = words("sow-hand", **answer.rate.hand.model_dump())
    if (places := answer.stations) is not None:
        filled = percent(places.station_filled)
        numbers = places.model_dump(exclude={"station_filled"})
        lines["stations"] = words("sow-stations", filled=filled, **numbers)
    if (tray := answer.cells) is not None:
        filled = percent(tray.cell_filled)
        numbers = tray.model_dump(exclude={"cell_filled"})
        lines["cells"] = words("sow-cells", filled=filled, **numbers)
    if answer.bed is not None:
        lines["bed"] = words("sow-bed", **answer.bed.model_dump())
    return lines


def _expected(answer: SowingAdviceAnswer) -> dict[str, str]:
    days, feel = answer.soil.days_to_emergence, answer.by_feel
    return {
        "alive": percent(answer.viability) if answer.reckoned else words("sow-not-known"),
        "comes-up": percent(answer.emergence),
        "plants": _count(answer.plants),
        "to-thin": _count(answer.to_thin),
        **({} if days is None else {"comes-up-in": words("days", days=round(days))}),
        **({} if feel is None else {"by-feel": _by_feel(feel)}),
    }


def _count(count: CountAnswer) -> str:
    return words("sow-count", median=count.median, low=count.low, high=count.high)


def _by_feel(feel: ByFeelAnswer) -> str:
    return words(
        "sow-by-feel",
        seeds=feel.seeds,
        too_few=feel.seeds_saved < 0,
        fewer_seeds=-feel.seeds_saved,
        saved_seeds=feel.seeds_saved,
        seedlings=feel.seedlings_not_thinned,
        basis=feel.basis.text,
    )


def _list(title: str, found: Sequence[FindingAnswer]) -> None:
    if found:
        heading(words("sow-heading", value=title))
        bullets(one.text for one in found)
