"""The bed's record: its measurements over time, and the plane through them."""
