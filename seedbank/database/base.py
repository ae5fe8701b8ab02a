"""What every stock table shares: identity, an edit counter, and closed vocabularies as text."""

from datetime import UTC, datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import Connection, DateTime, Enum, Index, MetaData, event, text
from sqlalchemy.types import TypeDecorator
from sqlmodel import Field, SQLModel

SQLModel.model_config["defer_build"] = True  # a table's rows are not validated: no schema is needed
SQLModel.metadata.naming_convention = MetaData(
    naming_convention={
        "ix": "ix_%(column_0_label)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
).naming_convention


def word(vocabulary: type[StrEnum]) -> Any:
    """Column type for a closed vocabulary: stored as its text value, checked by the database."""
    return Enum(
        vocabulary,
        native_enum=False,
        create_constraint=True,
        values_callable=lambda members: [m.value for m in members],
        name=vocabulary.__name__.lower(),
        length=32,
    )


def unique_where(name: str, *columns: str, condition: str) -> Index:
    """Index that keeps rows unique in ``columns`` among those that meet an SQL condition."""
    where = text(condition)
    index = Index(name, *columns, unique=True, sqlite_where=where)

    @event.listens_for(index, "before_create")
    def on_postgresql(_: Index, connection: Connection, **__: Any) -> None:
        # Said earlier, it would load all that speaks to PostgreSQL at every start.
        if connection.dialect.name == "postgresql":
            index.dialect_options["postgresql"]["where"] = where

    return index


class UtcDateTime(TypeDecorator[datetime]):
    """A moment, always in UTC: SQLite forgets the zone, so it is put back on the way out."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Any) -> datetime | None:  # noqa: ARG002
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"moment {value!r} has no time zone")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Any) -> datetime | None:  # noqa: ARG002
        if value is None or value.tzinfo is not None:
            return value
        return value.replace(tzinfo=UTC)


class Editable(SQLModel):
    """A row a gardener may correct: ``version`` grows by one with each edit and feeds the ETag."""

    version: int = Field(default=1, nullable=False)
    id: int | None = Field(default=None, primary_key=True)
