"""A piece of HTML kept in place."""
