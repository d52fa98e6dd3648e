"""The table of a day."""
