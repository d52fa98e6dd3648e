"""The tissue that a correction takes."""
