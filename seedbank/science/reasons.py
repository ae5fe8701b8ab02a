"""A reason in plain words, with the numbers it rests on."""

from collections.abc import Mapping
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
