"""The `collaparte` command: one file a verb."""
