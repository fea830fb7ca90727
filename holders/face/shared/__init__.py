"""What command line and page have in common."""
