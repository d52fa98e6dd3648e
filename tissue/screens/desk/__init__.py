"""The plan on the desk: its state, the values read, its fields and its dialogs."""
