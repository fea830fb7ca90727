"""Rules on the film in its pocket."""
