"""Codes of lots as they are typed: several, or those on standard input; and amounts beside them."""

import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from seedbank.common.errors import Refused

FROM_STDIN = "-"
CodesArgument = Annotated[
    list[str],
    typer.Argument(help="Codes of the lots; - reads them from standard input.", metavar="CODE..."),
]
WeighedArgument = Annotated[
    list[str],
    typer.Argument(
        help="Each lot with its seeds, like 4K7PM:180, or grams, 4K7PM:2.1g; - reads them from "
        "standard input.",
        metavar="CODE:AMOUNT...",
    ),
]


def typed_codes(typed: Sequence[str]) -> list[str]:
    """What was typed, "-" replaced by the words on standard input. Raises Refused: nothing is."""
    codes = [
        code for one in typed for code in (sys.stdin.read().split() if one == FROM_STDIN else [one])
    ]
    if not codes:
        raise Refused("no-codes-typed", "lots", None)
    return codes


def typed_amounts(typed: Sequence[str]) -> list[tuple[str, dict[str, int | float]]]:
    """Codes with ``seeds`` or ``grams`` each. Raises Refused: one can't be read."""
    return [_amount(one) for one in typed_codes(typed)]


def _amount(text: str) -> tuple[str, dict[str, int | float]]:
    code, colon, much = text.rpartition(":")
    try:
        if not colon:
            raise ValueError
        if much.endswith("g"):
            return code, {"grams": float(much.removesuffix("g"))}
        return code, {"seeds": int(much)}
    except ValueError:
        raise Refused("lot-amount-misread", "lots", text) from None
