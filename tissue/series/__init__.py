"""Many eyes at once: a table in, the same table with every figure out."""
