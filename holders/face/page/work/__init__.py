"""The page's worker processes: quick answers, long errands."""
