"""A stack of sheets scanned one after another: what became of each, and which to scan again."""
