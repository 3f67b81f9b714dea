"""What a page says. Every section is one call that gives a ``Section`` of blocks."""
