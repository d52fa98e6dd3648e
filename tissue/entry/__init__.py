"""What a person gives: the inputs, how they are written, plan files, and the checks on them."""
