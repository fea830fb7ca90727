"""Rules over a finished design. Each is a class: code, title, reason, source."""
