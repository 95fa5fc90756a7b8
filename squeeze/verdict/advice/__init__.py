"""What to change in a mold: each change is tried before it is advised."""
