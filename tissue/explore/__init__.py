"""One plan changed: maps, sweeps, searches, and what they cost."""
