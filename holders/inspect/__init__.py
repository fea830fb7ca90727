"""What a finished scan says: rings, sharpness across the frame, how the film lies, and what to change."""
