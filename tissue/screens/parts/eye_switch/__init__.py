"""The switch for the eye in the fields."""
