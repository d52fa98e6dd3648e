"""One file for each screen, each with show()."""
