"""The tool's own browser components, one folder each."""
