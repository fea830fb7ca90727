"""The surface a film takes on its holder: gravity, curl, support, contact; and what that does to focus and rings."""
