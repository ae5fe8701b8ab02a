"""A reason in plain words, with the numbers it rests on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason behind an answer: a stable code, a sentence, and the finite numbers in it.

    Names in ``numbers`` carry their unit (``_seeds``, ``_days``, ``_pct``); chances are 0..1.
    The shape is our choice.
    """

    code: str
    text: str
    numbers: Mapping[str, float]


_SAYS_LITTLE = frozenset({"rare", "common"})


def weightiest(reasons: Sequence[Reason]) -> str:
    """The first reason that is more than how many others keep the variety; empty without any.

    Our choice of what says little.
    """
    telling = [one for one in reasons if one.code not in _SAYS_LITTLE] or reasons
    return telling[0].text if telling else ""


def percent(chance: float) -> str:
    """A chance in whole per cent that never calls the nearly certain certain.

    0.998 reads "over 99 %" and 0.002 "under 1 %"; only exact 0 and 1 read so. Our choice.
    """
    if 0 < chance < 0.01:
        return "under 1 %"
    return "over 99 %" if 0.99 < chance < 1 else f"{100 * chance:.0f} %"


def about(chance: float) -> str:
    """The same where it is an estimate: "about 67 %", but "over 99 %"."""
    said = percent(chance)
    return said if said.startswith(("under", "over")) else f"about {said}"
