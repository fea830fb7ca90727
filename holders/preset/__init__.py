"""The preset file: what a shooter writes and shares. No geometry here."""
