"""A scan of a sloping target in, the height of best focus out."""
