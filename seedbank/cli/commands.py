"""Commands that are imported when they run, so that asking for help doesn't wait for the rest."""

import gc
from collections.abc import Mapping
from functools import cache
from importlib import import_module
from typing import Any, NamedTuple

import typer
from typer.core import TyperCommand

from seedbank.cli.failures import PlainGroup


class Command(NamedTuple):
    """Where a command is written, as ``run`` or as an ``app`` of its own, and its line of help."""

    module: str
    help: str


def group_of(commands: Mapping[str, Command]) -> type[PlainGroup]:
    """A group that lists ``commands`` by their lines and imports the one that is asked for."""

    class Group(PlainGroup):
        def __init__(self, **given: Any) -> None:
            lines = {name: TyperCommand(name, help=it.help) for name, it in commands.items()}
            super().__init__(**{**given, "commands": lines})

        def resolve_command(self, ctx: Any, args: list[str]) -> tuple[Any, Any, list[str]]:
            name, command, rest = super().resolve_command(ctx, args)
            return name, command and imported(name or "", commands[name or ""]), rest

    return Group


@cache
def imported(name: str, command: Command) -> Any:
    """The command itself, its options and all it needs imported."""
    gc.disable()  # what is imported is there to stay; to look through it for waste takes a while
    module = import_module(command.module)
    gc.freeze()
    gc.enable()
    if hasattr(module, "app"):
        return typer.main.get_command(module.app)
    alone = typer.Typer(add_completion=False, rich_markup_mode=None)
    alone.command(name)(module.run)
    return typer.main.get_command(alone)
