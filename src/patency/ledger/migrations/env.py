"""How a schema is brought up to date: on the connection that the ledger hands over, in one transaction."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"])
with context.begin_transaction():
    context.run_migrations()
