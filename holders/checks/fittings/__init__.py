"""Rules on lids, covers, inserts and channels."""
