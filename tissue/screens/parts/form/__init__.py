"""The fields of one eye."""
