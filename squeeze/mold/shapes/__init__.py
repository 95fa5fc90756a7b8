"""The shapes that a mold file knows, as closed curves."""
