"""What `tissue sight` says: JSON, table and notices."""
