"""What every room builds on: citations and printed numbers, limits, the one error, words and types used everywhere."""
