"""The plan on the desk: its state, what was read of it, what came of that, and its dialogs."""
