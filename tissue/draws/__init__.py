"""Quasi-random errors through the same arithmetic."""
