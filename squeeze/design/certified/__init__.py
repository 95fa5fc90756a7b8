"""Blocks computed in full, and the few of them that are named."""
