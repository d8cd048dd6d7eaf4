"""The migrations, one per file. The tables are in `server/database/tables.py`.

They run with SQLite's foreign keys off (see `references_off`), and none goes down: to leave a version, restore the
backup made before it. Rejected: `downgrade` functions (they would throw answers away, and nobody runs them).
"""
