"""The plan on the desk: its state, what was read, its fields and its dialogs."""
