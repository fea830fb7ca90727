"""Newton's rings in a scan: candidate waves, their fit, the regions they cover."""
