"""Steel bars let into the lid, or glued on it: weight, and rails that do not bow."""
