"""Cradle pieces: where they sit, their backs, what they are made of."""
