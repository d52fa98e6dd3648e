"""The laws of the material, and which of them an eye is given."""
