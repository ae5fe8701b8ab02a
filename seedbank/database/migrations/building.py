"""Tables for migrations: the columns we use, and constraints named as ``stock.base`` names them.

Migrations are history: change what these do only if every migration written with them still
gives the same schema.
"""

from collections.abc import Mapping, Sequence
from itertools import chain
from typing import Any

import sqlalchemy as sa
from alembic import op


def create_table(
    table: str,
    *columns: Sequence[sa.Column[Any]],
    key: Sequence[str] = ("id",),
    links: Mapping[str, str] | None = None,
    unique: Sequence[Sequence[str]] = (),
    rules: Mapping[str, str] | None = None,
    indexed: Sequence[str] = (),
) -> None:
    """Create one table; each of ``columns`` is some columns alike.

    ``links``: column -> table whose id it holds. ``rules``: name -> SQL condition. ``indexed``:
    columns with an index each.
    """
    op.create_table(
        table,
        *chain.from_iterable(columns),
        sa.PrimaryKeyConstraint(*key, name=op.f(f"pk_{table}")),
        *(
            sa.ForeignKeyConstraint(
                [column], [f"{target}.id"], name=op.f(f"fk_{table}_{column}_{target}")
            )
            for column, target in (links or {}).items()
        ),
        *(sa.UniqueConstraint(*each, name=op.f(f"uq_{table}_{each[0]}")) for each in unique),
        *(
            sa.CheckConstraint(rule, name=op.f(f"ck_{table}_{name}"))
            for name, rule in (rules or {}).items()
        ),
    )
    for column in indexed:
        op.create_index(op.f(f"ix_{table}_{column}"), table, [column])


def words(columns: Mapping[str, str]) -> dict[str, str]:
    """Rules for columns that hold a word of a list: column -> ``vocabulary: its words``."""
    rules = {}
    for column, vocabulary_and_members in columns.items():
        vocabulary, members = vocabulary_and_members.split(": ")
        listed = ", ".join(f"'{word}'" for word in members.split())
        rules[vocabulary] = f"{column} IN ({listed})"
    return rules


def create_unique_where(name: str, table: str, columns: list[str], condition: str) -> None:
    """An index that keeps rows unique among those that meet an SQL condition."""
    where = sa.text(condition)
    op.create_index(
        op.f(name), table, columns, unique=True, sqlite_where=where, postgresql_where=where
    )


def text(*names: str, length: int | None = None) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.String(length), nullable=False) for name in names]


def word(*names: str) -> list[sa.Column[Any]]:
    return text(*names, length=32)


def optional_word(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.String(32), nullable=True) for name in names]


def whole(*names: str, null: bool = False) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.Integer(), nullable=null) for name in names]


def real(*names: str, null: bool = False) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.Float(), nullable=null) for name in names]


def flag(*names: str, null: bool = False) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.Boolean(), nullable=null) for name in names]


def day(*names: str, null: bool = False) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.Date(), nullable=null) for name in names]


def moment(*names: str, null: bool = False) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.DateTime(timezone=True), nullable=null) for name in names]


def optional_json(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.JSON(), nullable=True) for name in names]


def json(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.JSON(), nullable=False) for name in names]


def binary(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.LargeBinary(), nullable=False) for name in names]
