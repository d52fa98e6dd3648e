"""The laws of the material, and the choice between them."""
