"""The command line: thin, lazy, and the only place that prints."""
