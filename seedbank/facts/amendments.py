"""Packaged rows as they are used: cells another source was read for, and sources nobody can name.

The tables stay as they were published to us. ``amendments.csv`` says which cell (or, with no
column, whose whole row) rests on another source or value; ``unnamed_sources.csv`` says which
sources were found out since, and which have no issuer or title: those count as recalled.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any, NamedTuple, TypeVar, get_type_hints

from seedbank.facts.sources import Confidence, Source
from seedbank.facts.tables import convert, load_rows, parts

R = TypeVar("R")


class AmendmentRow(NamedTuple):
    """``amendments.csv``: a ``printed`` cell, what is ``used`` for it, why, and whence.

    ``key`` is the row's first column. With no ``column`` the whole row takes the source, if its
    own contains ``printed``.
    """

    table: str
    key: str
    column: str
    printed: str
    used: str
    reason: str
    source: Source


class UnnamedSourceRow(NamedTuple):
    """``unnamed_sources.csv``: a source as ``printed``, and what it was found to be, if it was.

    ``columns`` are the confidence columns of a row that rest on it.
    """

    printed: str
    named: str
    columns: str
    source: Source


@cache
def all_amendments() -> tuple[AmendmentRow, ...]:
    return load_rows("amendments", AmendmentRow)


@cache
def unnamed_sources() -> tuple[UnnamedSourceRow, ...]:
    return load_rows("unnamed_sources", UnnamedSourceRow)


@cache
def _by_row() -> Mapping[tuple[str, str], list[AmendmentRow]]:
    found: dict[tuple[str, str], list[AmendmentRow]] = defaultdict(list)
    for row in all_amendments():
        found[row.table, row.key].append(row)
    return dict(found)


def amendments_of(table: str, key: str) -> Mapping[str, AmendmentRow]:
    """Amendments of one row, by column."""
    return {row.column: row for row in _by_row().get((table, key), [])}


def amended(table: str, row: R) -> R:
    """The row with its cells and sources as they are used."""
    name = str(row[0])  # type: ignore[index]  # rows are named tuples
    fixes = _by_row().get((table, name), [])
    hints = get_type_hints(type(row)) if fixes else {}
    for fix in fixes:
        if not fix.column and fix.printed in row.source.text:  # type: ignore[attr-defined]  # every row has one
            row = _changed(row, source=fix.source)
        elif fix.column and getattr(row, fix.column) == convert(fix.printed, hints[fix.column]):
            row = _changed(row, **{fix.column: convert(fix.used, hints[fix.column])})
    return _named(row)


def _named(row: R) -> R:
    source, recalled = _named_source(row.source)  # type: ignore[attr-defined]  # every row has one
    if recalled or source != row.source:  # type: ignore[attr-defined]  # every row has one
        columns = dict.fromkeys(recalled, Confidence.MEMORY.value)
        return _changed(row, source=source, **columns)
    return row


@cache
def _named_source(source: Source) -> tuple[Source, tuple[str, ...]]:
    """A source as it is used, and the confidence columns of a row that rest on memory alone."""
    recalled: list[str] = []
    for one in unnamed_sources():
        if one.printed not in source.text:
            continue
        if one.named:
            source = replace(source, text=source.text.replace(one.printed, one.named))
        else:
            source = replace(source, confidence=_at_most_recalled(source.confidence))
            recalled += parts(one.columns)
    return source, tuple(recalled)


def _at_most_recalled(confidence: Confidence) -> Confidence:
    return Confidence.MEMORY if confidence is Confidence.READ else confidence


def _changed(row: R, **changes: Any) -> R:
    changed: R = row._replace(**changes)  # type: ignore[attr-defined]  # rows are named tuples
    return changed
