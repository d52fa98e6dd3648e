"""What is left of the eye: least bed, shares, volumes, strength, their errors, and notices."""
