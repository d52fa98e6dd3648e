"""The eye's own map on the screen: a table is read, asked about, seen and confirmed, or taken out again."""
