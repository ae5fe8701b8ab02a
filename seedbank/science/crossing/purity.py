"""The purity a saved lot carries with it: isolated, or at risk of crossing, in one sentence."""

from dataclasses import dataclass

from seedbank.science.crossing.crossing_advice import exposure_words
from seedbank.science.crossing.crossing_stands import CrossingCheck, Standing, Way

_MOST_NAMED = 3

_WORDS = {
    Way.DISTANCE: "distance",
    Way.TIME: "time of flowering",
    Way.CAGE: "a cage",
    Way.BAG: "bags",
    Way.HAND_POLLINATION: "hand pollination",
}


@dataclass(frozen=True, slots=True)
class PurityStanding:
    """``standing`` isolated | risk, a sentence for every later answer, and all stands at risk."""

    standing: Standing
    sentence: str
    with_names: tuple[str, ...]


def purity_standing(check: CrossingCheck) -> PurityStanding:
    """What seed of the checked crop carries: how it is isolated, or what it may have crossed with.

    Speaks of what is known to flower; the worst three are named. Wording is ours. Outside check:
    standing and names are those of the check, by test.
    """
    if check.standing is Standing.ISOLATED:
        return PurityStanding(Standing.ISOLATED, _isolated(check), ())
    named = check.risks[:_MOST_NAMED]
    said = [exposure_words(e) for e in named]
    if len(check.risks) > _MOST_NAMED:
        said.append(f"{len(check.risks) - _MOST_NAMED} more")
    names = tuple(e.stand.name for e in check.risks)
    return PurityStanding(Standing.RISK, f"Risk of crossing with {_list(said)}.", names)


def _isolated(check: CrossingCheck) -> str:
    ways = [_WORDS[way] for way in check.isolated_by if way is not Way.ONLY_VARIETY]
    if not check.exposures:
        by = f", and kept by {_list(ways)}" if ways else ""
        return f"Isolated: nothing else that crosses with it is known to flower within reach{by}."
    return f"Isolated by {_list(ways)} from all that is known to flower and may cross with it."


def _list(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
