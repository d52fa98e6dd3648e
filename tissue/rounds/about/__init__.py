"""Questions by subject, one file for each: functions (case, rng) that give a Question or None."""
