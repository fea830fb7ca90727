"""Changes tried on a preset: the next steps that gain, and the best ways to hold a film."""
