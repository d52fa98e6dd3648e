"""Pages of print: the record, the handout, and the page for lost suction."""
