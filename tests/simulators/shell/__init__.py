"""A thin shell with one-sided contact: elements, energy, and the search for least energy."""
