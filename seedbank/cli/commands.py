"""Commands, named noun then verb, that are imported when they run: asking for help waits for none.

Names from before are hidden: they work as they did, until 1.0.
"""

import gc
from collections.abc import Mapping
from difflib import get_close_matches
from functools import cache
from importlib import import_module
from typing import Any, NamedTuple

import typer
from typer.core import TyperCommand

from seedbank.cli.failures import PlainGroup
from seedbank.common.running_command import COMMAND

HELP_OPTIONS = ("-h", "--help")


class Command(NamedTuple):
    """Where a command is written, by module and function, its line of help, and if it writes."""

    module: str
    help: str
    function: str = "run"
    writes: bool = False


class Noun(NamedTuple):
    """A thing and what can be done with it; ``before`` is the verb meant by the noun alone."""

    help: str
    verbs: Mapping[str, Command]
    before: str = ""


Commands = Mapping[str, Command | Noun]
Aliases = Mapping[str, str | Command]


SECTIONS = {"Nouns": None, "Commands that only ask": False, "Commands that write": True}
"""Headings of what is listed; by whether it writes, None of what is only a noun."""


def _section(one: Command | Noun) -> bool | None:
    return None if isinstance(one, Noun) else one.writes


def each_command(commands: Commands) -> dict[str, Command]:
    """Every command by its full name, like ``lot move``."""
    found: dict[str, Command] = {}
    for name, one in commands.items():
        if isinstance(one, Noun):
            found |= {f"{name} {verb}": command for verb, command in one.verbs.items()}
        else:
            found[name] = one
    return found


def group_of(
    commands: Commands, aliases: Aliases | None = None, noun: str = ""
) -> type[PlainGroup]:
    """A group that lists ``commands`` by their lines and imports the one that is asked for.

    ``aliases`` are names that aren't listed, of a command by its full name or of one of their own;
    ``noun`` is the group's own name.
    """
    hidden, every = aliases or {}, each_command(commands)
    other = {name: every[one] if isinstance(one, str) else one for name, one in hidden.items()}
    meant: Mapping[str, Command | Noun] = {**commands, **other}

    class Group(PlainGroup):
        def __init__(self, **given: Any) -> None:
            lines = {
                name: TyperCommand(name, help=one.help, hidden=name in other)
                for name, one in meant.items()
            }
            super().__init__(**{**given, "commands": lines})

        def resolve_command(self, ctx: Any, args: list[str]) -> tuple[Any, Any, list[str]]:
            name, command, rest = super().resolve_command(ctx, args)
            if name is None:
                return None, command, rest
            COMMAND.set(f"{noun} {name}".strip())
            one = meant[name]
            return name, _noun(name, one) if isinstance(one, Noun) else imported(name, one), rest

        def format_commands(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002
            """What asks, and what writes, each under its own heading."""
            listed = {name: line for name, line in self.commands.items() if not line.hidden}
            room = formatter.width - 6 - max(map(len, listed))
            for title, wanted in SECTIONS.items():
                rows = [
                    (name, line.get_short_help_str(room))
                    for name, line in listed.items()
                    if _section(meant[name]) == wanted
                ]
                if rows:
                    with formatter.section(title):
                        formatter.write_dl(rows)

    return Group


@cache
def imported(name: str, command: Command) -> Any:
    """The command itself, its options and all it needs imported."""
    gc.disable()  # what is imported is there to stay; to look through it for waste takes a while
    module = import_module(command.module)
    gc.freeze()
    gc.enable()
    alone = typer.Typer(add_completion=False, rich_markup_mode=None)
    alone.command(name)(getattr(module, command.function))
    return typer.main.get_command(alone)


def _noun(name: str, noun: Noun) -> Any:
    """The group of a noun. Where a verb is meant without being named, a slip of one isn't it."""

    class Verbs(group_of(noun.verbs, noun=name)):  # type: ignore[misc]  # made for this noun
        def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
            if not ctx.resilient_parsing and not args and not noun.before:
                args = ["--help"]
            elif not ctx.resilient_parsing and noun.before and not self._begins(args):
                args = [noun.before, *args]
            rest: list[str] = super().parse_args(ctx, args)
            return rest

        def _begins(self, args: list[str]) -> bool:
            """Whether a verb of the noun, or one slip from it, or help is named."""
            return bool(args) and (
                args[0] in HELP_OPTIONS or bool(get_close_matches(args[0], noun.verbs))
            )

    return Verbs(name=name, help=noun.help, rich_markup_mode=None)
