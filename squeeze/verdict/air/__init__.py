"""Where air is caught while a mold fills, and which tilt or vent lets it out."""
