"""Pieces on stock sheets, and the order of cutting."""
