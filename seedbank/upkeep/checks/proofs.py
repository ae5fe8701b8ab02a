"""What is proved of a database, one claim at a time, its schema, file and links first."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import (
    Connection,
    ForeignKeyConstraint,
    Table,
    TextClause,
    and_,
    func,
    inspect,
    or_,
    select,
    text,
)
from sqlalchemy.sql.selectable import FromClause
from sqlmodel import SQLModel

from seedbank.database.migrate import revision_in, revisions

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
        claimed = Proof(self.claim, count_rows(connection, text(self.of)), self.things)
        return prove(connection, claimed, breaking=text(self.breaking), sentence=self.sentence)


def prove(
    connection: Connection,
    claimed: Proof,
    *,
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
    return replace(claimed, faults=tuple(faults), broken=broken)


def count_rows(connection: Connection, of: FromClause | TextClause) -> int:
    """How many rows there are."""
    query: Any = select(func.count()).select_from(of)
    return int(connection.execute(query).scalar_one())


_ABOUT_ROWS = ("CHECK constraint failed", "NULL value in")


def check_schema(connection: Connection) -> list[Proof]:
    """That the schema is the newest this program knows, with every table and column.

    Where one doesn't hold, nothing else can be asked of the tables.
    """
    head, found = revisions()[-1], revision_in(connection)
    if found != head:
        fault = (
            f"The database has schema {found!r}, this seedbank works on {head!r}: start it once "
            "on the database to bring it up to date."
            if found is None or found in revisions()
            else f"The database has schema {found!r}, which this seedbank doesn't know: install "
            "the newer one."
        )
        return [Proof(f"the schema is {head}", 1, "schema", (fault,), 1)]
    there = inspect(connection)
    names = set(there.get_table_names())
    faults = []
    for table in SQLModel.metadata.sorted_tables:
        if table.name not in names:
            faults.append(f"The table {table.name} is missing.")
            continue
        columns = {column["name"] for column in there.get_columns(table.name)}
        faults += [
            f"The table {table.name} lacks its column {column.name}."
            for column in table.columns
            if column.name not in columns
        ]
    tables = len(SQLModel.metadata.sorted_tables)
    claim = f"the schema is {head}, with every column"
    return [Proof(claim, tables, "tables", tuple(faults[:FAULTS_TOLD]), len(faults))]


def check_file(connection: Connection) -> list[Proof]:
    """That SQLite finds every page and index of its file sound; PostgreSQL guards its own."""
    if connection.dialect.name != "sqlite":
        return []
    pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
    told = [row[0] for row in connection.exec_driver_sql("PRAGMA integrity_check(100)")]
    # Rows that break a condition are named by ``check_rules``; SQLite tells their table only.
    told = [one for one in told if one != "ok" and not one.startswith(_ABOUT_ROWS)]
    faults = [f"SQLite finds the file damaged: {one}." for one in told]
    claim = "the file is sound: its pages, indexes and tables agree"
    return [Proof(claim, pages, "pages", tuple(faults[:FAULTS_TOLD]), len(faults))]


def check_links(connection: Connection) -> list[Proof]:
    """That every row a row refers to is there, for each declared reference."""
    return [
        _whole(connection, table, link)
        for table in SQLModel.metadata.sorted_tables
        for link in sorted(table.foreign_key_constraints, key=lambda link: tuple(link.column_keys))
    ]


def _whole(connection: Connection, table: Table, link: ForeignKeyConstraint) -> Proof:
    child, parent = table.alias("child"), link.referred_table.alias("parent")
    pairs = [(child.c[one.parent.name], parent.c[one.column.name]) for one in link.elements]
    set_ = and_(*(own.is_not(None) for own, _ in pairs))
    joined = child.outerjoin(parent, and_(*(own == other for own, other in pairs)))
    query = (
        select(next(iter(child.primary_key)).label("row"), pairs[0][0].label("value"))
        .select_from(joined)
        .where(set_, or_(*(other.is_(None) for _, other in pairs)))
    )
    column = ", ".join(link.column_keys)
    return prove(
        connection,
        Proof(
            f"each {table.name}'s {column} is there",
            count_rows(connection, table),
            f"rows of {table.name}",
        ),
        breaking=query,
        sentence="{table} {row}: its {column} {value} is not among the {parent} rows.",
        shown={"table": table.name, "column": column, "parent": link.referred_table.name},
    )
