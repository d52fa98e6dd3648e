"""A whole letter on the screen: its marked text, what was read beside the plan, and what is taken over."""
