"""The workshop drawing: sheets for paper with numbered parts, running dimensions, a detail and a list of parts."""
