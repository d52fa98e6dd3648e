"""What the zone gives: the optics of the planned surface over a pupil, as a wavefront error and as an image."""
