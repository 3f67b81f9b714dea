"""Day against day: which values may be compared, and what changed between them."""
