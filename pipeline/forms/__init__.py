"""What is handed out before a day: the sheets to fill in, as files and on paper."""
