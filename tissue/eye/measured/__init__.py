"""An eye's own map: a surface through measured readings of thickness or epithelium, and how far it is known."""
