"""What a bench sheet says on each step of the work, a module a step."""
