"""``seedbank kind``: a kind of one's own, with a name and three questions."""

from typing import Annotated

import typer
from pydantic import BaseModel, Field

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import fill_form
from seedbank.cli.screen import screen, words
from seedbank.facts.kinds import KeptAs
from seedbank.kinds.edit_kinds import add_kind
from seedbank.kinds.forms import FactOfNewKind, KindCreate
from seedbank.upkeep.command_session import opened

_OWN_WORD = "fact-told-with-kind"
NameArgument = Annotated[str, typer.Argument(help="Its everyday name.")]


class KindOptions(BaseModel):
    """What is known of the kind."""

    kept_as: KeptAs | None = Field(None, description="What is kept of it: seed, or planting stock.")
    keeps_years: float | None = Field(None, description="How long it keeps, years, if you know.")
    poisonous: Annotated[
        bool | None,
        typer.Option("--poisonous/--not-poisonous", help="Whether it is poisonous."),
    ] = None
    slug: str | None = Field(None, description="Short name in addresses; made of the name.")
    source: str | None = Field(None, description="Where this is from; you, if left out.")
    fact: Annotated[
        list[str] | None,
        typer.Option(help="Another fact, like botanical=Sium sisarum; as often as you like."),
    ] = None


@fill_form
def run(
    name: NameArgument,
    known: KindOptions,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Add a kind of plant of your own: its name and what you know of it."""
    facts = [_fact(one, known.source) for one in known.fact or ()]
    form = KindCreate.model_validate(
        {"name": name, **known.model_dump(exclude={"fact"}), "facts": facts}
    )
    with opened(settings_for(database)) as collection:
        kind = add_kind(collection.session, form)
    if json:
        print(kind.model_dump_json())
    else:
        screen().print(words("kind-added", name=kind.name, slug=kind.slug))


def _fact(typed: str, source: str | None) -> FactOfNewKind:
    name, _, value = typed.partition("=")
    stated = {"name": name.strip(), "value": value, "source": source or words(_OWN_WORD)}
    return FactOfNewKind.model_validate(stated)
