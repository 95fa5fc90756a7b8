"""Studies that are begun on the page."""
