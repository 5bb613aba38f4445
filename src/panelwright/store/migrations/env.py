"""Where Alembic begins: run the migrations on the connection that `store.migrate` gives,
inside its transaction."""

from __future__ import annotations

from alembic import context

from panelwright.store.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
)
context.run_migrations()
