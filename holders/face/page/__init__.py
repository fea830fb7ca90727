"""The local web page: a form, the drawing beside it, and the same functions as the command line."""
