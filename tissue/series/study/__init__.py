"""What a study asks of a series: groups, agreement, comparison, and the bundle it is published with."""
