"""The chart component."""
