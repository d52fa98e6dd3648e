"""What a figure is called and how it is written: labels, JSON, terminal tables."""
