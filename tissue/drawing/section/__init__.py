"""The section of an eye: flattened, curved, as a table, in words."""
