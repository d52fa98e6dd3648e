"""Contents of the Trade-offs screen."""
