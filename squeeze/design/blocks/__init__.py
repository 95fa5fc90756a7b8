"""Blocks about the models: families of outlines, their limits, what they cost in work."""
