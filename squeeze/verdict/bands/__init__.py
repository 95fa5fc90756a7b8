"""How many bands a block needs, where they go, and what that means in words."""
