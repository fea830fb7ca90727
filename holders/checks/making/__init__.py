"""Rules on what machine and material can make."""
