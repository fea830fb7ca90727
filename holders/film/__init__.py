"""The surface a film takes: gravity, curl, support, contact; the risk of rings."""
