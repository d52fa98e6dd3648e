"""The order of cuts, the routes when suction is lost, and a later enhancement."""
