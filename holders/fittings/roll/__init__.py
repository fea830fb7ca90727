"""Uncut rolls and long strips: film longer than the holder, which passes through its open ends."""
