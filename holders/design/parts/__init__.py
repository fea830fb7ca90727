"""What can be said of parts alone: sections, slices, volume, weight, lettering, what a part is for."""
