"""Run the steps on the connection that `collop.shop.migrate` hands over."""

from __future__ import annotations

from alembic import context

from collop.shop import tenancy_steps  # noqa: F401 -- by being read it takes PostgreSQL's place
from collop.shop.tables import metadata
from collop.shop.tenancy import walls_down

connection = context.config.attributes["connection"]

# SQLite changes a table by copying it, hence batches
context.configure(
    connection=connection,
    target_metadata=metadata,
    render_as_batch=True,
    transactional_ddl=True,
)
with context.begin_transaction(), walls_down(connection):
    context.run_migrations()
