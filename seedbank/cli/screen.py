"""What all commands print with: tables and lists on stdout, progress on stderr."""

import ctypes
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager

from rich import box
from rich.console import Console
from rich.measure import Measurement
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table
from rich.text import Text

from seedbank.common.answers import CautionAnswer, PercentAnswer, Source, VarietyBrief
from seedbank.common.catalogue import text_of
from seedbank.science.quantities import Finding, Value

_STDOUT, _STDERR = 1, 2
_NAME_ROOM = 21  # fits the longest kind on one line
_ROOMY = 84  # columns of a screen: with fewer a kind may go over two lines
_WIDEST = 500  # columns of a screen: what a table could ask for at most
Tell = Callable[[int, int], None]


def screen(width: int | None = None) -> Console:
    """Stdout. Names of varieties may hold brackets, so nothing is read as markup."""
    return Console(highlight=False, markup=False, emoji=False, width=width)


def words(code: str, **values: Value) -> str:
    """The words the catalogue has for this code."""
    return text_of(Finding(code, values))


def heading(text: str) -> None:
    console = screen()
    console.print()
    console.print(text, style="bold")


def table(columns: Sequence[str], rows: Iterable[Sequence[str]], *, numbers: int = 0) -> None:
    """A table; its last ``numbers`` columns stand to the right, and the catalogue has its heads."""
    grid = Table(
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        show_edge=False,
        padding=(0, 1, 0, 0),
        show_header=any(columns),
    )
    console = screen()
    for place, name in enumerate(columns):
        right = place >= len(columns) - numbers
        room = _NAME_ROOM if name == "variety" and console.width >= _ROOMY else None
        grid.add_column(
            words("column", name=name),
            justify="right" if right else "left",
            min_width=room,
            no_wrap=right or name == "lot",
            overflow="fold",
        )
    for row in rows:
        grid.add_row(*row)
    # Wider than the screen rather than cut off; piped to a program, a row is a line.
    asked = Measurement.get(console, console.options.update(max_width=_WIDEST), grid)
    piped = not console.is_terminal and "COLUMNS" not in os.environ
    screen(asked.maximum if piped else max(console.width, asked.minimum)).print(grid)


def bullets(lines: Iterable[str]) -> None:
    """One thing after another, each indented under its own dash."""
    console = screen()
    for line in lines:
        parts = Text(line).wrap(console, console.width - 3)
        console.print(" - " + "\n   ".join(part.plain.rstrip() for part in parts))


def show_cautions(cautions: Sequence[CautionAnswer]) -> None:
    """Cautions, if there are any."""
    if cautions:
        heading(words("heading-cautions"))
        bullets(_sentences(one.text, one.who_decides) for one in cautions)


def show_sources(sources: Sequence[Source]) -> None:
    """Where it all comes from, if anything is said."""
    if sources:
        heading(words("heading-sources"))
        bullets(f"{one.text} ({one.confidence})" for one in sources)


def _sentences(*parts: str) -> str:
    return " ".join(part if part.endswith(".") else f"{part}." for part in parts if part)


def name_of(variety: VarietyBrief) -> str:
    return f"{variety.name} ({variety.kind})"


def percent(answer: PercentAnswer) -> str:
    """A percentage and its interval."""
    low, high = answer.low_pct, answer.high_pct
    return words("percent-in-table", pct=answer.pct, low_pct=low, high_pct=high)


def chance(fraction: float) -> str:
    """A chance 0..1 in percent, never rounded into a certainty."""
    return words("chance-in-table", chance=fraction)


def aside(text: str) -> None:
    """A remark on stderr, out of the way of what is asked for."""
    print(text, file=sys.stderr)


@contextmanager
def stdout_is_ours() -> Iterator[None]:
    """Send to stderr what C libraries print past Python, such as a line of HiGHS's own.

    Where the process has no such streams, or on Windows, nothing is turned aside.
    """
    sys.stdout.flush()
    try:
        ours = os.dup(_STDOUT)
    except OSError:
        yield
        return
    try:
        os.dup2(_STDERR, _STDOUT)
        yield
    finally:
        _flush_c_streams()
        os.dup2(ours, _STDOUT)
        os.close(ours)


def _flush_c_streams() -> None:
    """What is still in C's buffers would else come out later, on stdout."""
    if sys.platform != "win32":
        ctypes.CDLL(None).fflush(None)


@contextmanager
def bar(what: str) -> Iterator[Tell]:
    """A progress bar on stderr, where that is a terminal; told what is done and how much in all.

    What a library prints meanwhile by itself goes to stderr too: stdout is the answer's.
    """
    console = Console(stderr=True)
    columns = TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn()
    progress = Progress(*columns, console=console, disable=not console.is_terminal)
    with stdout_is_ours(), progress:
        task = progress.add_task(what, total=None)
        yield lambda done, total: progress.update(task, completed=done, total=total)
