"""Parts of the Mechanics screen."""
