"""The tissue that a correction takes, and the options that take it: surface, flap, lenticule."""
