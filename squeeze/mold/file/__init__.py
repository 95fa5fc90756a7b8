"""Mold files: reading with every fault reported at once, and writing."""
