"""Figures, tables and files of a closing; each module is imported where it is wanted."""
