"""Questions for a fellow, from the arithmetic of an eye: asked, answered, judged and written down."""
