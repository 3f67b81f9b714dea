"""The door: the only code that sees headings, commas, inches and spreadsheets."""
