"""The tolerance budget: what contributes to the height, and how much of the picture stays in focus."""
