"""What a map of an eye says: for machines, for the terminal, and the command that reads one."""
