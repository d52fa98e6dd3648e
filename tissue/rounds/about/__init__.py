"""Questions by what they are about, a file a subject: functions (case, rng) that give a Question or None."""
