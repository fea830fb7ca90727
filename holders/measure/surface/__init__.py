"""The film's real surface from two scans of it, the second with the holder moved across the bed."""
