"""Charts: maps, sweeps, profiles, distributions, stress."""
