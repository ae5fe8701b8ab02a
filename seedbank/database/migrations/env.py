"""Run by Alembic: the migrations on the connection that ``stock.migrate`` hands over."""

from alembic import context
from sqlmodel import SQLModel

import seedbank.tables  # noqa: F401 - fills the metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=SQLModel.metadata,
    render_as_batch=True,  # SQLite alters a table by copying it
)
with context.begin_transaction():
    context.run_migrations()
