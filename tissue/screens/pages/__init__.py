"""One file a screen, each with show()."""
