"""The kinds of value: a refraction, a number or a pair, a place."""
