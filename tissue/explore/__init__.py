"""One plan changed, or drawn with its errors: maps, sweeps, searches, spreads, and what they cost."""
