"""What is left: least bed, shares, volumes, strength, how sure they are, and what to know beside them."""
