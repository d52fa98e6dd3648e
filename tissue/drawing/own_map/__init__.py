"""An eye's own map drawn from the front: lines of equal thickness, where it is not measured, and its names."""
