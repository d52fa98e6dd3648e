"""The names of figures and how they are written: labels, JSON, terminal tables."""
