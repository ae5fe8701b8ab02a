"""What was written since: a counter a table, raised by the very commit that wrote to it.

Whatever writes through an engine counts, one row or thousands, and servers that share a database
share the counters. They grow at the commit, all in one statement and in one order, so that none
who writes waits long for another, nor two for each other. They are part of a database, not of the
collection in it: a copy of the collection counts anew.

Writes that no judgement rests on are counted apart: of notes alone, and of rows that say nothing
yet, such as a test begun.
"""

import re
from collections.abc import Hashable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, Engine, event, inspect, text
from sqlmodel import Field, Session, SQLModel

_NOTES = frozenset({"notes", "note", "version"})
_WRITTEN, _COUNTS, _BLANK = "seedbank_written", "seedbank_counts", "says_nothing_without"
_WRITE = re.compile(r'\b(?:INTO|UPDATE|DELETE FROM)\s+"?(?:_alembic_tmp_)?(\w+)', re.IGNORECASE)
_SET = re.compile(r"^UPDATE\s+\S+\s+SET\s+(.*)$", re.IGNORECASE | re.DOTALL)
_COLUMN = re.compile(r'(?:^|, )"?(\w+)"?\s*=')
_UNCOUNTED = frozenset(
    {"set", "temp", "change_counter", "audit_entry", "answered_request", "stored_answer"}
)

Changes = tuple[Hashable, ...]
"""Equal only while nothing that was asked about has been written."""


class ChangeCounter(SQLModel, table=True):
    """How many commits have written to a table; see ``notes_of`` and ``blanks_of``."""

    __tablename__ = "change_counter"

    topic: str = Field(primary_key=True, max_length=80)
    number: int


@dataclass(slots=True)
class _Written:
    """What a transaction has written so far; equal to no other transaction's."""

    topics: set[str] = field(default_factory=set)
    transaction: object = field(default_factory=object)
    statements: int = 0


def topics_of(*tables: type[SQLModel]) -> tuple[str, ...]:
    """The counters of these tables, for ``changes``."""
    return tuple(str(table.__tablename__) for table in tables)


def notes_of(table: type[SQLModel]) -> str:
    """The counter of writes to a table's notes and versions alone."""
    return f"{table.__tablename__}.notes"


def blanks_of(table: type[SQLModel]) -> str:
    """The counter of rows put in that say nothing yet."""
    return f"{table.__tablename__}.blank"


def says_nothing_without(column: str) -> dict[str, Any]:
    """For the end of ``__table_args__``: rows put in without it are counted apart."""
    return {"info": {_BLANK: column}}


def changes(session: Session, topics: tuple[str, ...]) -> Changes:
    """Where the counters stand, and what this session itself has written and not committed.

    To be read before what it is compared for: newer knowledge under older counters does no harm.
    """
    numbers, written = _counters(session)
    found = tuple(numbers.get(topic, 0) for topic in topics)
    if written is None or written.topics.isdisjoint(topics):
        return found
    return (*found, written.transaction, written.statements)


def all_changes(session: Session) -> Changes:
    """The same of every counter: for an answer that much of the collection goes into."""
    numbers, written = _counters(session)
    found = tuple(sorted(numbers.items()))
    if written is None or not written.topics:
        return found
    return (*found, written.transaction, written.statements)


def _counters(session: Session) -> tuple[dict[str, int], _Written | None]:
    session.flush()
    connection = session.connection()
    rows = connection.exec_driver_sql("SELECT topic, number FROM change_counter")
    return dict(map(tuple, rows)), connection.info.get(_WRITTEN)


def count_changes(engine: Engine) -> None:
    """Count what is written through an engine from now on."""
    event.listen(engine, "begin", _begin)
    event.listen(engine, "before_cursor_execute", _note)
    event.listen(engine, "commit", _count)


def _begin(connection: Connection) -> None:
    connection.info.pop(_WRITTEN, None)


def _note(
    connection: Connection, _cursor: Any, statement: str, _values: Any, context: Any, _many: bool
) -> None:
    if statement.startswith(("SELECT", "PRAGMA")) or not (topics := topics_written(statement)):
        return
    if context.isinsert and context.compiled is not None and _are_blank(context):
        topics = frozenset(f"{topic}.blank" for topic in topics)
    written: _Written = connection.info.setdefault(_WRITTEN, _Written())
    written.topics |= topics
    written.statements += 1


def _are_blank(context: Any) -> bool:
    """Whether all rows put in lack what they say nothing without (``says_nothing_without``)."""
    column = getattr(context.compiled.statement.table, "info", {}).get(_BLANK)
    return column is not None and all(
        row.get(column) is None for row in context.compiled_parameters
    )


@lru_cache(maxsize=2000)
def topics_written(statement: str) -> frozenset[str]:
    """The counters a statement raises, read from its text."""
    if statement.startswith("TRUNCATE"):
        return frozenset(re.findall(r"\w+", statement.removeprefix("TRUNCATE")))
    tables = {table for table in _WRITE.findall(statement) if table.lower() not in _UNCOUNTED}
    assigned = _SET.match(statement)
    if assigned is not None and _NOTES.issuperset(_COLUMN.findall(assigned[1])):
        return frozenset(f"{table}.notes" for table in tables)
    return frozenset(tables)


def _count(connection: Connection) -> None:
    written: _Written | None = connection.info.pop(_WRITTEN, None)
    if written is None or not _counts(connection):
        return
    rows = {f"topic_{place}": topic for place, topic in enumerate(sorted(written.topics))}
    values = ", ".join(f"(:{name}, 1)" for name in rows)
    connection.execute(
        text(
            f"INSERT INTO change_counter (topic, number) VALUES {values} "
            "ON CONFLICT (topic) DO UPDATE SET number = change_counter.number + 1"
        ),
        rows,
    )


def _counts(connection: Connection) -> bool:
    """Whether the schema has the counters yet; it hasn't before the migration that makes them."""
    if not connection.info.get(_COUNTS):
        connection.info[_COUNTS] = inspect(connection).has_table("change_counter")
    return bool(connection.info[_COUNTS])
