"""Tables of the screens as HTML."""
