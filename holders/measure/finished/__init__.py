"""A finished scan in: rings, sharpness across the frame, how the film lies, what to change."""
