"""The plate solver: basis, stiffness, contact, equilibrium, branches and their stability."""
