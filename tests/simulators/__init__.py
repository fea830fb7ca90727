"""Simulated scans with known truth. Written apart from the estimators they judge."""
