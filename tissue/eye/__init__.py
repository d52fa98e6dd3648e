"""What was measured: the refraction and the cornea."""
