"""Finished solids and plane outlines become bytes, one module a format."""
