"""Finished solids and plane outlines become files, one module a format; nothing is decided here."""
