"""The content of a sheet, section by section: numbers and verdicts with stable ids, and no sentences."""
