"""The screens: one file for each screen, with show(); what several screens share stands beside them."""
