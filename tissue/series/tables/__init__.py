"""Tables in and out: CSV and Parquet, their cells, heads and rows."""
