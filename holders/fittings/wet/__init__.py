"""Wet mounting: film laid in fluid on a plate of glass, an overlay film over it."""
