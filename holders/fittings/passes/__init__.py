"""A holder that is moved by exact steps, for film larger than the lamp area."""
