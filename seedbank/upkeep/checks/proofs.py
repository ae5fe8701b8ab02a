"""What is proved of a database, one claim at a time, its schema, file and links first."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from sqlalchemy import (
    Connection,
    ForeignKeyConstraint,
    Select,
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

from seedbank.common.catalogue import text_of
from seedbank.database.migrate import revision_in, revisions
from seedbank.science.quantities import Finding

FAULTS_TOLD = 10
"""Rows told of each claim; the rest are counted."""


@dataclass(frozen=True, slots=True)
class Proof:
    """One claim, by the code of its message, tried on ``number`` things, and what breaks it.

    ``names`` are those in the claim; ``faults`` the first few found, ``broken`` how many there are.
    """

    code: str
    number: int
    names: Mapping[str, str] = field(default_factory=dict)
    faults: tuple[Finding, ...] = ()
    broken: int = 0

    @property
    def holds(self) -> bool:
        return self.broken == 0

    @property
    def claim(self) -> str:
        """What is claimed, in words."""
        return text_of(Finding(self.code, self.names), part="claim")

    @property
    def things(self) -> str:
        """What it was tried on, in words."""
        return text_of(Finding(self.code, self.names), part="things")


@dataclass(frozen=True, slots=True)
class Rule:
    """A claim in SQL: ``breaking`` selects the rows that break it, of which its message tells."""

    code: str
    of: str  # the table whose rows are counted
    breaking: str

    def prove(self, connection: Connection) -> Proof:
        """Try it on every row."""
        claimed = Proof(self.code, count_rows(connection, text(self.of)))
        return prove(connection, claimed, text(self.breaking))


def prove(connection: Connection, claimed: Proof, breaking: Any) -> Proof:
    """Run a query for rows that break a claim; only those told are kept."""
    faults: list[Finding] = []
    broken = 0
    for row in connection.execute(breaking, execution_options={"yield_per": 1000}):
        broken += 1
        if len(faults) < FAULTS_TOLD:
            values = {name: None if v is None else str(v) for name, v in row._mapping.items()}
            faults.append(Finding(claimed.code, {**claimed.names, **values}))
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
        known = found is None or found in revisions()
        code = "check-schema-older" if known else "check-schema-newer"
        fault = Finding(code, {"found": found, "head": head})
        return [Proof("check-schema", 1, {"head": head}, (fault,), 1)]
    there = inspect(connection)
    names = set(there.get_table_names())
    faults = []
    for table in SQLModel.metadata.sorted_tables:
        if table.name not in names:
            faults.append(Finding("check-table-missing", {"table": table.name}))
            continue
        columns = {column["name"] for column in there.get_columns(table.name)}
        faults += [
            Finding("check-column-missing", {"table": table.name, "column": column.name})
            for column in table.columns
            if column.name not in columns
        ]
    tables = len(SQLModel.metadata.sorted_tables)
    shown = tuple(faults[:FAULTS_TOLD])
    return [Proof("check-columns", tables, {"head": head}, shown, len(faults))]


def check_file(connection: Connection) -> list[Proof]:
    """That SQLite finds every page and index of its file sound; PostgreSQL guards its own."""
    if connection.dialect.name != "sqlite":
        return []
    pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
    found = [row[0] for row in connection.exec_driver_sql("PRAGMA integrity_check(100)")]
    # Rows that break a condition are named by ``check_rules``; SQLite tells their table only.
    found = [one for one in found if one != "ok" and not one.startswith(_ABOUT_ROWS)]
    faults = tuple(Finding("check-file", {"fault": str(one)}) for one in found[:FAULTS_TOLD])
    return [Proof("check-file", pages, {}, faults, len(found))]


def check_links(connection: Connection) -> list[Proof]:
    """That every row a row refers to is there, for each declared reference."""
    return [
        _foreign_key(connection, table, link)
        for table in SQLModel.metadata.sorted_tables
        for link in sorted(table.foreign_key_constraints, key=lambda link: tuple(link.column_keys))
    ]


def _foreign_key(connection: Connection, table: Table, link: ForeignKeyConstraint) -> Proof:
    names = {
        "table": table.name,
        "column": ", ".join(link.column_keys),
        "parent": link.referred_table.name,
    }
    claimed = Proof("check-link", count_rows(connection, table), names)
    return prove(connection, claimed, _orphans(table, link))


@cache
def _orphans(table: Table, link: ForeignKeyConstraint) -> Select[Any]:
    """Rows whose reference leads nowhere."""
    child, parent = table.alias("child"), link.referred_table.alias("parent")
    pairs = [(child.c[one.parent.name], parent.c[one.column.name]) for one in link.elements]
    set_ = and_(*(own.is_not(None) for own, _ in pairs))
    joined = child.outerjoin(parent, and_(*(own == other for own, other in pairs)))
    return (
        select(next(iter(child.primary_key)).label("row"), pairs[0][0].label("value"))
        .select_from(joined)
        .where(set_, or_(*(other.is_(None) for _, other in pairs)))
    )
