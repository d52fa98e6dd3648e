"""A surgeon's own errors from a table: its reader, its commands, an invented table."""
