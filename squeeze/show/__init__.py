"""squeeze."""
