"""The focus follows what a step has brought."""
