"""``seedbank``: its commands, put together."""

import typer

from seedbank.access import command as token
from seedbank.cli.failures import PlainGroup
from seedbank.germination import command as record_test
from seedbank.interchange.archive.commands import export
from seedbank.interchange.descriptors import command as descriptors
from seedbank.interchange.folder import command as import_folder
from seedbank.lots import command as entered
from seedbank.plan.commands import supplies
from seedbank.season.commands import plan, save
from seedbank.server import demo_command as demo
from seedbank.server import serve_command as serve
from seedbank.sowing.commands import sow
from seedbank.upkeep.command_session import COMMAND
from seedbank.upkeep.commands import backup, check, restore

app = typer.Typer(
    cls=PlainGroup,
    help="Seed lots, germination tests and sowing advice for a kitchen gardener.",
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    add_completion=False,
)
app.command("demo")(demo.run)
app.command("serve")(serve.run)
app.command("export")(export.run)
app.command("descriptors")(descriptors.run)
app.command("import")(import_folder.run)
app.command("entered")(entered.run)
app.command("test")(record_test.run)
app.command("sow")(sow.run)
app.command("save")(save.run)
app.command("plan")(plan.run)
app.command("supplies")(supplies.run)
app.command("backup")(backup.run)
app.command("restore")(restore.run)
app.command("check")(check.run)
app.add_typer(token.app, name="token")


@app.callback()
def _seedbank(context: typer.Context) -> None:
    # Told to those who enter what was changed; it also keeps commands under their names.
    COMMAND.set(context.invoked_subcommand or "")
