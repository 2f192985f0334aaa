"""The log and the files, in SQLite and beside it."""
