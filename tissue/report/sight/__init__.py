"""The output of `tissue sight`: JSON, table and notices."""
