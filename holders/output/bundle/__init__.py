"""All files of a holder, written together or not at all."""
