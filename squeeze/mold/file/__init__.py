"""Mold files: reading with every fault told at once, and writing."""
