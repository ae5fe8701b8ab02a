"""What is proved of a database, one claim at a time, and the rows that break it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, TextClause, func, select, text
from sqlalchemy.sql.selectable import FromClause

FAULTS_TOLD = 10
"""Rows told of each claim; the rest are counted."""


@dataclass(frozen=True, slots=True)
class Proof:
    """One claim, how many ``things`` it was tried on, and a sentence for each that breaks it.

    ``faults`` holds the first few sentences, ``broken`` how many there are.
    """

    claim: str
    number: int
    things: str
    faults: tuple[str, ...] = ()
    broken: int = 0

    @property
    def holds(self) -> bool:
        return self.broken == 0


@dataclass(frozen=True, slots=True)
class Rule:
    """A claim in SQL: ``breaking`` selects the rows that break it, ``sentence`` names one."""

    claim: str
    things: str
    of: str  # the table whose rows are counted
    breaking: str
    sentence: str  # str.format with the row's columns

    def prove(self, connection: Connection) -> Proof:
        """Try it on every row."""
        return prove(
            connection,
            claim=self.claim,
            things=self.things,
            number=count_rows(connection, text(self.of)),
            breaking=text(self.breaking),
            sentence=self.sentence,
        )


def prove(
    connection: Connection,
    *,
    claim: str,
    things: str,
    number: int,
    breaking: Any,
    sentence: str,
    shown: Mapping[str, Any] | None = None,
) -> Proof:
    """Run a query for rows that break a claim; only those told are kept."""
    faults: list[str] = []
    broken = 0
    result = connection.execute(breaking, execution_options={"yield_per": 1000})
    for row in result:
        broken += 1
        if len(faults) < FAULTS_TOLD:
            faults.append(sentence.format(**(shown or {}), **row._mapping))
    return Proof(claim, number, things, tuple(faults), broken)


def count_rows(connection: Connection, of: FromClause | TextClause) -> int:
    """How many rows there are."""
    query: Any = select(func.count()).select_from(of)
    return int(connection.execute(query).scalar_one())
