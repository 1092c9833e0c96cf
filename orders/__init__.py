"""What customers asked for, and what happened to it."""
