"""Lists as commands print them: whole, for people as a table, for programs as JSON."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Annotated, TypeVar

import typer
from pydantic import BaseModel

from seedbank.cli.screen import screen, table, words
from seedbank.database.queries import Page, Paging

Item = TypeVar("Item", bound=BaseModel)
_A_PAGE = 500

JsonLinesOption = Annotated[
    bool, typer.Option("--json-lines", help="Print each as a line of JSON.")
]


def every_page(ask: Callable[[Paging], Page[Item]]) -> Iterator[Item]:
    """All of a list, asked for a page at a time."""
    paging = Paging(_A_PAGE)
    while True:
        page = ask(paging)
        yield from page.items
        if page.next is None:
            return
        paging = Paging(_A_PAGE, page.next)


def print_json(items: Iterable[BaseModel], *, json: bool, json_lines: bool) -> bool:
    """Print them as one document with ``items``, or a line each; false if neither was asked."""
    if json_lines:
        for one in items:
            print(one.model_dump_json())
    elif json:
        print('{"items": [' + ",\n".join(one.model_dump_json(indent=2) for one in items) + "]}")
    return json or json_lines


def print_table(columns: Sequence[str], rows: Iterable[Sequence[str]], *, numbers: int = 0) -> None:
    """A table, and how many there are; only that where there is none."""
    listed = list(rows)
    if listed:
        table(columns, listed, numbers=numbers)
    screen().print(words("listed-in-all", things=len(listed)))


def known(value: object) -> str:
    """A value in a table; empty where it isn't known."""
    return "" if value is None else str(value)
