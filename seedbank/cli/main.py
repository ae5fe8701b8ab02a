"""``seedbank``: its commands, put together."""

import typer

from seedbank.cli import (
    backup,
    check,
    demo,
    descriptors,
    entered,
    export,
    import_folder,
    plan,
    record_test,
    restore,
    save,
    serve,
    sow,
    supplies,
    token,
)
from seedbank.cli.collection import COMMAND
from seedbank.cli.failures import PlainGroup

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
