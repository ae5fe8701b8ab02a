"""Tests, sowings and seed crops named as they are typed: by number, or by the code of their lot."""

from collections.abc import Callable, Iterable
from typing import Protocol, TypeVar

from seedbank.common.errors import Refused
from seedbank.lots.tables.lot_codes import is_code, normalise_code


class Numbered(Protocol):
    """Whatever has a number of its own."""

    @property
    def id(self) -> int: ...


Found = TypeVar("Found", bound=Numbered)


def number_meant(
    noun: str,
    typed: str,
    of_lot: Callable[[str], Iterable[Found]],
    is_open: Callable[[Found], bool],
) -> int:
    """The number typed, or that of the only open one ``of_lot`` whose code was typed.

    Of a lot without an open one its only one is meant. ``noun`` is "test", "sowing" or "crop".
    Raises Refused: neither a code nor a number was typed, or the lot has none, or several.
    """
    if not is_code(typed):
        if not (typed.isascii() and typed.isdigit()):
            raise Refused("number-not-named", noun, typed, noun=noun)
        return int(typed)
    found = list(of_lot(normalise_code(typed)))
    meant = [one for one in found if is_open(one)] or found
    if len(meant) != 1:
        numbers = ", ".join(str(one.id) for one in meant)
        raise Refused("several-of-lot", noun, typed, noun=noun, found=len(meant), numbers=numbers)
    return meant[0].id
