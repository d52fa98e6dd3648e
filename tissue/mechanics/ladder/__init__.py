"""The ladder: published experiments, computed by every law, with verdicts that are computed too."""
