"""What goes wrong, told in one plain sentence on stderr: the field, its value, how to mend it."""

import sys
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import typer
from typer.core import TyperGroup

from seedbank.common.errors import Doubted, StockFault

BAD_INPUT = 2
# Typer gives the base of its usage errors no public name, and has moved it between versions.
_UsageError: type[Exception] = typer.BadParameter.__mro__[1]


class PlainGroup(TyperGroup):
    """Commands whose refusals end in one sentence and exit code 2, never in a traceback."""

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,
    ) -> Any:
        typed = list(sys.argv[1:] if args is None else args) or ["--help"]
        try:
            code = super().main(typed, prog_name, complete_var, False, windows_expand_args, **extra)
        except typer.Abort:
            code = 130  # as shells report an interrupted program
        except Exception as fault:
            if (text := sentence(fault, typed)) is None:
                raise
            print(text, file=sys.stderr)
            code = BAD_INPUT
        if standalone_mode:
            sys.exit(code or 0)
        return code


def sentence(fault: Exception, typed: Sequence[str] = ()) -> str | None:
    """The fault in plain words, ending with how to mend it; None for a fault of the program."""
    if isinstance(fault, _UsageError):
        return _misused(fault, typed)
    if isinstance(fault, Doubted):
        from seedbank.common.catalogue import text_of
        from seedbank.science.quantities import Finding

        return text_of(Finding("say-it-is-so", {"doubt": _in_words(fault)}))
    if isinstance(fault, StockFault):
        if fault.lists:
            return f"{fault}\n{fault.mend}"
        return _in_words(fault)
    # Only what went wrong waits for these: help and completion need neither library.
    from pydantic import ValidationError

    from seedbank.database.database_faults import DATABASE_FAULTS, ailment_of

    if isinstance(fault, ValidationError):
        before = "SEEDBANK_" if fault.title == "Settings" else ""
        return "\n".join(_invalid(one, before) for one in fault.errors())
    if isinstance(fault, DATABASE_FAULTS):
        ailment = ailment_of(fault)
        cause = f"{ailment.text} {ailment.mend}" if ailment else getattr(fault, "orig", fault)
        return f"database: {cause}"
    return None


def _in_words(fault: StockFault) -> str:
    """What is wrong and what to do, after the field and its value where neither is told by it."""
    text = f"{fault} {fault.mend}"
    if fault.tells("field"):
        return text
    value = "" if fault.value is None or fault.tells("value", "key") else f" {fault.value!r}"
    return f"{fault.field}{value}: {text}"


def _invalid(one: Any, before: str) -> str:
    from seedbank.common.safe_text import field_error

    error = field_error({**one, "loc": ("", *one["loc"])})
    field = f"{before}{error.field.upper()}" if before else error.field
    shown = "" if error.value is None or isinstance(one.get("input"), dict) else f" {error.value!r}"
    return f"{field or 'input'}{shown}: {error.mend}"


def _misused(fault: Exception, typed: Sequence[str]) -> str:
    """A command line that can't be read; the library's message doesn't always tell the value."""
    message = str(getattr(fault, "format_message", lambda: str(fault))())
    names = getattr(getattr(fault, "param", None), "opts", ())
    values = [value for name, value in pairwise(typed) if name in names]
    values += [one.partition("=")[2] for one in typed if one.partition("=")[0] in names]
    shown = "".join(f" ({value!r})" for value in values if value and repr(value) not in message)
    context = getattr(fault, "ctx", None)
    where = getattr(context, "command_path", "seedbank")
    return f"{_stop(message.removesuffix('.') + shown)} See {where} --help."


def _stop(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."
