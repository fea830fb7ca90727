"""Film between two plates of glass, one below it and one on it."""
