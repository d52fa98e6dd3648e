"""Studies of a series: groups, agreement, comparison, and the bundle for publication."""
