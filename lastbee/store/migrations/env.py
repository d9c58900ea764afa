"""Run by Alembic: the migrations go through the transaction that `migrating` began."""

from __future__ import annotations

from alembic import context

from lastbee.store.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    # SQLite changes a table by making it anew.
    render_as_batch=True,
)
context.run_migrations()
