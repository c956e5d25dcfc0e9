"""Runs the steps on the connection it is handed, within the caller's transaction."""

from alembic import context

from demoule.store.tables import Base

if hasattr(context, "config"):  # only while Alembic runs it: whoever imports it for its text does nothing
    context.configure(
        connection=context.config.attributes["connection"],
        target_metadata=Base.metadata,
        render_as_batch=True,
        transactional_ddl=False,  # the caller holds the transaction: all steps, or none
    )
    context.run_migrations()
