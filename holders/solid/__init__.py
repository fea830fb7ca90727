"""Slabs and features become solids. The only room that imports the CAD kernel."""
