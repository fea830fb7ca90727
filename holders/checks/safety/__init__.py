"""Cautions where someone can be hurt."""
