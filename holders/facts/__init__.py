"""Trade tables with a source on every row. Imports nothing but the error type."""
