"""A scan on disk, read a piece at a time in bounded memory."""
