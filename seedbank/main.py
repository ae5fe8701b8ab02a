"""``seedbank``: its commands, put together."""

from typing import Annotated

import typer

from seedbank import __version__
from seedbank.cli.commands import HELP_OPTIONS, Aliases, Command, Commands, Noun, group_of

COMMANDS: Commands = {
    "lot": Noun(
        "Packets of seed: what they are, where, how many, how alive.",
        {
            "list": Command(
                "seedbank.overview.commands.shelf",
                "List packets, sought, filtered and sorted, with how alive they are and what to "
                "do.",
            ),
            "mix": Command(
                "seedbank.lots.commands.mix",
                "Mix seed of several lots into a lot that remembers what it is made of.",
                writes=True,
            ),
            "doubts": Command(
                "seedbank.lots.commands.entered",
                "List lots that an import may have entered as empty or as come that day; answer "
                "for them.",
                writes=True,
            ),
            "descriptors": Command(
                "seedbank.interchange.descriptors.command",
                "Tell lots in the Multi-Crop Passport Descriptors V.2.1, for a genebank or another "
                "keeper.",
            ),
        },
    ),
    "test": Noun(
        "Germination tests.",
        {
            "advise": Command(
                "seedbank.verdicts.command",
                "Choose which lots to test: the few whose answers save most over all lots they "
                "teach.",
            ),
            "record": Command(
                "seedbank.germination.commands.record_test",
                "Record a germination test and learn what it says of the lot.",
                writes=True,
            ),
            "fault": Command(
                "seedbank.germination.commands.mark_fault",
                "Say what went wrong with a germination test, or that nothing did.",
                writes=True,
            ),
        },
        before="record",
    ),
    "sowing": Noun(
        "Sowings: how thickly, and what came up.",
        {
            "advise": Command(
                "seedbank.sowing.commands.sow",
                "Ask how thickly to sow a lot for the plants wanted.",
            ),
        },
    ),
    "crop": Noun(
        "Seed crops: plants grown for their seed.",
        {
            "advise": Command(
                "seedbank.season.commands.save",
                "List the rare varieties to grow for seed next, the rarest first.",
            ),
        },
    ),
    "plan": Noun(
        "The saving plan over years.",
        {
            "make": Command(
                "seedbank.season.commands.plan",
                "Plan which varieties to save seed of, year by year, so that least is likely to be "
                "lost.",
                writes=True,
            ),
            "supplies": Command(
                "seedbank.plan.commands.supplies",
                "List what to sow this year, what seed is lacking, and what seed may be given "
                "away.",
            ),
        },
        before="make",
    ),
    "kind": Noun(
        "Kinds of plant, and what is known of them.",
        {
            "add": Command(
                "seedbank.kinds.commands.kind",
                "Add a kind of plant of your own: its name and what you know of it.",
                writes=True,
            ),
            "season": Command(
                "seedbank.season.commands.kind_year",
                "Tell when to sow a kind here, how soon it is up, when it flowers and its seed is "
                "ripe.",
            ),
        },
        before="add",
    ),
    "variety": Noun(
        "Varieties, and who else keeps them.",
        {
            "keepers": Command(
                "seedbank.kinds.commands.rarity",
                "Say how many others keep varieties; list those of which nobody has said.",
                writes=True,
            ),
        },
    ),
    "climate": Noun(
        "The climate of the garden or a site.",
        {
            "show": Command(
                "seedbank.season.commands.climate",
                "Show what is known of the climate of the garden or a site.",
                "show",
            ),
            "state": Command(
                "seedbank.season.commands.climate",
                "Tell the climate of the garden or a site, or show what is known of it.",
                writes=True,
            ),
        },
        before="state",
    ),
    "demo": Command(
        "seedbank.server.demo_command",
        "Load the demonstration collection, say what needs doing this year, and serve it.",
        writes=True,
    ),
    "serve": Command(
        "seedbank.server.serve_command", "Serve your collection over HTTP.", writes=True
    ),
    "import": Command(
        "seedbank.interchange.folder.commands.import_files",
        "Take in a collection written down in CSV files, all of it or nothing.",
        writes=True,
    ),
    "export": Command(
        "seedbank.interchange.folder.commands.export",
        "Write everything in the collection into one zip archive of CSV files.",
    ),
    "backup": Command(
        "seedbank.upkeep.commands.backup",
        "Back the collection up into one file, also while it is served, and prove the backup.",
    ),
    "restore": Command(
        "seedbank.upkeep.commands.restore",
        "Make the collection what a backup holds; the service must be stopped meanwhile.",
        writes=True,
    ),
    "check": Command(
        "seedbank.upkeep.commands.check",
        "Prove the ledger, the references and every rule; exit code 1 if something is wrong.",
    ),
    "token": Noun(
        "Who else may come in.",
        {
            "add": Command(
                "seedbank.access.command",
                "Make a token and print it, this once only.",
                "add",
                writes=True,
            ),
            "list": Command("seedbank.access.command", "List the tokens ever made.", "show"),
            "revoke": Command(
                "seedbank.access.command",
                "Let the holder of a token in no longer, from this moment.",
                "revoke",
                writes=True,
            ),
        },
    ),
}

ALIASES: Aliases = {
    "batch": Command(
        "seedbank.overview.commands.batch",
        "Move, give, throw out or test many lots, or say who else keeps them: all or none.",
        writes=True,
    ),
    "descriptors": "lot descriptors",
    "entered": "lot doubts",
    "kind-year": "kind season",
    "mix": "lot mix",
    "rarity": "variety keepers",
    "save": "crop advise",
    "shelf": "lot list",
    "sow": "sowing advise",
    "supplies": "plan supplies",
    "test-fault": "test fault",
    "towels": "test advise",
}
"""What commands were called before; they are still typed so, until 1.0."""

app = typer.Typer(
    cls=group_of(COMMANDS, ALIASES),
    help="Seed lots, germination tests and sowing advice for a kitchen gardener.",
    context_settings={"help_option_names": list(HELP_OPTIONS)},
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _tell_version(asked: bool) -> None:
    if asked:
        typer.echo(f"seedbank {__version__}")
        raise typer.Exit


@app.callback()
def _seedbank(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_tell_version, is_eager=True, help="Tell the version."),
    ] = False,
) -> None:
    """What is asked of every command."""
