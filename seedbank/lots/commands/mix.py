"""``seedbank mix``: a mixture made of seed of lots here."""

from typing import Annotated, Any

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import bullets, screen, words
from seedbank.common.errors import Refused
from seedbank.lots.forms import MixtureCreate
from seedbank.lots.mix_lots import mix_lots
from seedbank.upkeep.command_session import opened

NameArgument = Annotated[str, typer.Argument(help="What the mixture is called: its variety.")]
PartsArgument = Annotated[
    list[str],
    typer.Argument(help="Each lot with its seeds, like 4K7PM:40; or with its share, 4K7PM:40%."),
]
SeedsOption = Annotated[
    int | None, typer.Option(min=2, help="Seeds in all, where parts are told by shares.")
]


def run(
    name: NameArgument,
    parts: PartsArgument,
    seeds: SeedsOption = None,
    notes: Annotated[str, typer.Option(help="Anything else.")] = "",
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Mix seed of several lots into a lot that remembers what it is made of."""
    told = {"variety": name, "parts": [_part(one) for one in parts], "seeds": seeds}
    form = MixtureCreate.model_validate(told | {"notes": notes})
    with opened(settings_for(database)) as collection:
        lot = mix_lots(collection.session, form, today=collection.today, now=collection.now)
    if json:
        print(lot.model_dump_json(indent=2))
        return
    screen().print(words("mixture-made", lot=lot.code, seeds=lot.amount.seeds))
    bullets(
        words("mixture-made-of", lot=one.lot, share=one.share) for one in lot.mixture if one.lot
    )


def _part(text: str) -> dict[str, Any]:
    code, colon, much = text.partition(":")
    number = much.removesuffix("%").strip()
    try:
        if not colon:
            raise ValueError
        if much.strip().endswith("%"):
            return {"lot": code, "share": float(number) / 100.0}
        return {"lot": code, "amount": {"seeds": int(number)}}
    except ValueError:
        raise Refused("mixture-part-misread", "parts", text) from None
