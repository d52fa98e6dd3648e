"""Follow-up, own errors and published readings: for machines and for the terminal."""
