"""What the page asks for, worked out in a process of its own."""
