"""What is left: least bed, shares, volumes, how sure they are, and what to know beside them."""
