"""One module a command: read, call, show."""
