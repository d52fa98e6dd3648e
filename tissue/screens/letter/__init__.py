"""A whole letter read on screen: the text with its marks, what was read beside the plan, and what is taken."""
