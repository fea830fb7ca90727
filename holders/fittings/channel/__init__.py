"""A channel for curled strips: rails that hold both long edges on a gentle arc."""
