"""The local web page: a form, the drawing beside it, and the same functions that the command line calls."""
