"""The three ways to one correction, in one shape."""
