"""Edges in a scan of a slope: where it is sharp, and how sharp a scan can be."""
