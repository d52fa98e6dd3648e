"""What a plan does to the optics of the eye."""
