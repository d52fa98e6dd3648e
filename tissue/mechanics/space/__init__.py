"""The real plan in three dimensions: off the centre, toric, with hinge and incision; linear laws, on demand."""
