"""Contents of the Plan screen."""
