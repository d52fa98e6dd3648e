"""Reads a whole letter: the values of each eye, the questions that are left, and what was not used."""
