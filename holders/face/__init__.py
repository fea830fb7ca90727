"""Where people meet the program: the command line and the page, over a room they share."""
