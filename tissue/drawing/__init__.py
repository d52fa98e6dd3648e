"""Pictures of an eye and its options: sections, front views and charts, each a plain dictionary."""
