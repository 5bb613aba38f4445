"""Where Alembic begins: on the connection, and in the transaction, of `store.migrate`."""

from __future__ import annotations

from alembic import context

from panelwright.store.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
)
context.run_migrations()
