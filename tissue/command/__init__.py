"""The commands: everything the screens do, without them."""
