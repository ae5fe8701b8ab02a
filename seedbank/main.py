"""``seedbank``: its commands, put together."""

from typing import Annotated

import typer

from seedbank import __version__
from seedbank.cli.commands import Command, group_of
from seedbank.common.running_command import COMMAND

COMMANDS = {
    "demo": Command(
        "seedbank.server.demo_command",
        "Load the demonstration collection, say what needs doing this year, and serve it.",
    ),
    "serve": Command(
        "seedbank.server.serve_command",
        "Serve your collection over HTTP.",
    ),
    "export": Command(
        "seedbank.interchange.folder.commands.export",
        "Write everything in the collection into one zip archive of CSV files.",
    ),
    "descriptors": Command(
        "seedbank.interchange.descriptors.command",
        "Tell lots in the Multi-Crop Passport Descriptors V.2.1, for a genebank or another keeper.",
    ),
    "import": Command(
        "seedbank.interchange.folder.commands.import_files",
        "Take in a collection written down in CSV files, all of it or nothing.",
    ),
    "kind": Command(
        "seedbank.kinds.commands.kind",
        "Add a kind of plant of your own: its name and what you know of it.",
    ),
    "rarity": Command(
        "seedbank.kinds.commands.rarity",
        "Say how many others keep varieties; list those of which nobody has said.",
    ),
    "entered": Command(
        "seedbank.lots.commands.entered",
        "List lots that an import may have entered as empty or as come that day; answer for them.",
    ),
    "mix": Command(
        "seedbank.lots.commands.mix",
        "Mix seed of several lots into a lot that remembers what it is made of.",
    ),
    "shelf": Command(
        "seedbank.overview.commands.shelf",
        "List packets, sought, filtered and sorted, with how alive they are and what to do.",
    ),
    "batch": Command(
        "seedbank.overview.commands.batch",
        "Move, give, throw out or test many lots, or say who else keeps them: all or none.",
    ),
    "test": Command(
        "seedbank.germination.commands.record_test",
        "Record a germination test and learn what it says of the lot.",
    ),
    "test-fault": Command(
        "seedbank.germination.commands.mark_fault",
        "Say what went wrong with a germination test, or that nothing did.",
    ),
    "sow": Command(
        "seedbank.sowing.commands.sow",
        "Ask how thickly to sow a lot for the plants wanted.",
    ),
    "save": Command(
        "seedbank.season.commands.save",
        "List the rare varieties to grow for seed next, the rarest first.",
    ),
    "plan": Command(
        "seedbank.season.commands.plan",
        "Plan which varieties to save seed of, year by year, so that least is likely to be lost.",
    ),
    "supplies": Command(
        "seedbank.plan.commands.supplies",
        "List what to sow this year, what seed is lacking, and what seed may be given away.",
    ),
    "towels": Command(
        "seedbank.verdicts.command",
        "Choose which lots to test: the few whose answers save most over all lots they teach.",
    ),
    "climate": Command(
        "seedbank.season.commands.climate",
        "Tell the climate of the garden or a site, or show what is known of it.",
    ),
    "kind-year": Command(
        "seedbank.season.commands.kind_year",
        "Tell when to sow a kind here, how soon it is up, when it flowers and its seed is ripe.",
    ),
    "backup": Command(
        "seedbank.upkeep.commands.backup",
        "Back the collection up into one file, also while it is served, and prove the backup.",
    ),
    "restore": Command(
        "seedbank.upkeep.commands.restore",
        "Make the collection what a backup holds; the service must be stopped meanwhile.",
    ),
    "check": Command(
        "seedbank.upkeep.commands.check",
        "Prove the ledger, the references and every rule; exit code 1 if something is wrong.",
    ),
    "token": Command("seedbank.access.command", "Who else may come in."),
}

app = typer.Typer(
    cls=group_of(COMMANDS),
    help="Seed lots, germination tests and sowing advice for a kitchen gardener.",
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _tell_version(asked: bool) -> None:
    if asked:
        typer.echo(f"seedbank {__version__}")
        raise typer.Exit


@app.callback()
def _seedbank(
    context: typer.Context,
    version: Annotated[  # noqa: ARG001 - told before anything else is looked at
        bool,
        typer.Option("--version", callback=_tell_version, is_eager=True, help="Tell the version."),
    ] = False,
) -> None:
    COMMAND.set(context.invoked_subcommand or "")
