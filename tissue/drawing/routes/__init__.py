"""Pictures of the cuts, of lost suction and of a later enhancement."""
