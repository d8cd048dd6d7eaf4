"""The history of the tables, one step a file; the tables themselves are in `server/database/tables.py`."""
