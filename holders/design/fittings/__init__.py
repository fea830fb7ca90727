"""What a holder may have besides its frame: lid, cover, carrier, channel."""
