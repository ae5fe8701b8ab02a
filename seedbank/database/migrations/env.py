"""Run by Alembic: the migrations on the connection that ``migrate`` hands over, with the schema."""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=None,
    render_as_batch=True,  # SQLite alters a table by copying it
)
with context.begin_transaction():
    context.run_migrations()
