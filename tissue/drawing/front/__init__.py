"""The eye from the front."""
