"""Rules on the frame: its place, walls, seams, feet, stiffness, warmth."""
