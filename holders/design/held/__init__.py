"""The film as the holder holds it: its support, its surface, its ranges."""
