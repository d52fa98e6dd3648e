"""Parts of Series: a surgeon's own errors."""
