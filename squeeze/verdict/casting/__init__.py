"""What the casting shows: flash, and how far it is off the model."""
