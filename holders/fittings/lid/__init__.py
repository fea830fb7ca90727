"""The lid frame: drops in on the film and holds it flatter."""
