"""Heights: the one sum from glass to picture, levels, stacks of sheets."""
