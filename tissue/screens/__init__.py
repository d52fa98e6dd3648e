"""The screens: one file a screen with show(); what they share stands beside them."""
