"""Alembic's environment. It uses the connection that the store hands over, so there is one way to the database."""

from alembic import context

from server.database.tables import TABLES

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=TABLES[0].metadata,
    render_as_batch=connection.dialect.name == "sqlite",
    compare_type=True,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
