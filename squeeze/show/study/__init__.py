"""A study in figures, tables and words."""
