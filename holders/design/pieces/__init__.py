"""Parts cut into pieces: seams, joints, sections, cut lines."""
