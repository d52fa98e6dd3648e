"""What may stand as a value: a refraction, a number or a pair, a place."""
