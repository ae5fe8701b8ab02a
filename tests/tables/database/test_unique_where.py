"""Indexes that are unique among some rows only: on either engine they are so in the database."""

from sqlalchemy import Engine, inspect
from sqlmodel import SQLModel

import seedbank.tables  # noqa: F401 - fills the metadata


def test_the_condition_is_in_the_database_on_either_engine(engine: Engine) -> None:
    option = f"{engine.dialect.name}_where"
    seen = inspect(engine)
    partial = {
        index["name"]
        for table in SQLModel.metadata.tables
        for index in seen.get_indexes(table)
        if index.get("dialect_options", {}).get(option) is not None
    }
    declared = {
        index.name
        for table in SQLModel.metadata.tables.values()
        for index in table.indexes
        if index.dialect_options["sqlite"]["where"] is not None
    }
    assert partial == declared
    assert len(declared) >= 3
