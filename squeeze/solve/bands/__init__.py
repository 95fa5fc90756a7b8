"""Where bands lie, and what they and other loads push on the outline."""
