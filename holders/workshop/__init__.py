"""What is really there: stock, tolerances, nesting, stiffness, warmth, cost."""
