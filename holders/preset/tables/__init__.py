"""The tables of a preset, each key with its bounds, its meaning and its words."""
