"""The sentences of a sheet, by language."""
