"""Contents of the Evidence screen."""
