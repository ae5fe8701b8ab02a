"""``seedbank kind``: a kind of one's own, with a name and three questions."""

from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import screen, words
from seedbank.facts.kinds import KeptAs
from seedbank.kinds.edit_kinds import add_kind
from seedbank.kinds.forms import FactOfNewKind, KindCreate
from seedbank.upkeep.command_session import opened

_OWN_WORD = "fact-told-with-kind"
NameArgument = Annotated[str, typer.Argument(help="Its everyday name.")]
KeptAsOption = Annotated[
    KeptAs | None, typer.Option("--kept-as", help="What is kept of it: seed, or planting stock.")
]
YearsOption = Annotated[
    float | None, typer.Option("--keeps-years", help="How long it keeps, years, if you know.")
]
PoisonousOption = Annotated[
    bool | None, typer.Option("--poisonous/--not-poisonous", help="Whether it is poisonous.")
]
SlugOption = Annotated[str | None, typer.Option(help="Short name in addresses; made of the name.")]
SourceOption = Annotated[str | None, typer.Option(help="Where this is from; you, if left out.")]
FactOption = Annotated[
    list[str] | None,
    typer.Option("--fact", help="Another fact, like botanical=Sium sisarum; as often as you like."),
]


def run(
    name: NameArgument,
    kept_as: KeptAsOption = None,
    keeps_years: YearsOption = None,
    poisonous: PoisonousOption = None,
    slug: SlugOption = None,
    source: SourceOption = None,
    fact: FactOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Add a kind of plant of your own: its name and what you know of it."""
    given = {
        "name": name,
        "slug": slug,
        "kept_as": kept_as,
        "keeps_years": keeps_years,
        "poisonous": poisonous,
        "source": source,
        "facts": [_fact(one, source) for one in fact or ()],
    }
    form = KindCreate.model_validate(given)
    with opened(settings_for(database)) as collection:
        kind = add_kind(collection.session, form)
    if json:
        print(kind.model_dump_json())
    else:
        screen().print(words("kind-added", name=kind.name, slug=kind.slug))


def _fact(typed: str, source: str | None) -> FactOfNewKind:
    name, _, value = typed.partition("=")
    told = {"name": name.strip(), "value": value, "source": source or words(_OWN_WORD)}
    return FactOfNewKind.model_validate(told)
