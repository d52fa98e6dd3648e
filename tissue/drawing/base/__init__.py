"""What all pictures share: outline, labels, placing, colours."""
