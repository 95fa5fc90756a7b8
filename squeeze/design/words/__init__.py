"""What is said of blocks, and of there being none."""
