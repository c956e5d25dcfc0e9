"""Runs the steps on the connection it is handed, within the caller's transaction."""

from alembic import context

from demoule.store.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
    transactional_ddl=False,  # the caller holds the transaction: all steps, or none
)
context.run_migrations()
