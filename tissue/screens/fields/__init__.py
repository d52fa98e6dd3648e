"""The fields of a plan: beside a picture, and on a screen of their own."""
