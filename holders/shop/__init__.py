"""What is really there when a holder is made: stock, tolerances, sheets, stiffness, warmth, cost, a test piece."""
