"""Pictures of what is seen through a planned surface."""
