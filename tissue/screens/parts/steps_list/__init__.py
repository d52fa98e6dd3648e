"""The list of steps on Explain."""
