"""Loads on the deformed block: bands, liquids, pushes, with their stiffness."""
