"""What is measured after an operation: published readings, the follow-up of an eye, and a surgeon's own errors."""
