"""Alembic's entry: runs the scripts on the connection that shotcrit.store.upgrade hands over."""

from alembic import context

from shotcrit.store.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    # Both SQLite and PostgreSQL undo DDL with the transaction; Alembic believes that SQLite does not.
    transactional_ddl=True,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
