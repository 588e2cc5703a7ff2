"""The database's steps forward, run by Alembic when the store is opened."""
