"""The pictures and words that a patient sees."""
