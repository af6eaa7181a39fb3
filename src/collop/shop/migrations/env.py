"""Run the steps on the connection that `collop.shop.migrate` hands over."""

from __future__ import annotations

from alembic import context

from collop.shop.tables import metadata

# SQLite changes a table by copying it, hence batches
context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
