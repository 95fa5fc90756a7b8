"""Tables and lines for the terminal, and the same as plain data."""
