"""What every room stands on: citations and printed numbers, limits, the one error, words and types used all over."""
