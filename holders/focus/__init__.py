"""A scan in, a measured focus height out; and the history of a bed."""
