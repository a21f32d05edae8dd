"""Database of what happened, and learning from it."""
