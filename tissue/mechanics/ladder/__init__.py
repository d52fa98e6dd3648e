"""The ladder: published experiments computed with every law, and computed verdicts."""
