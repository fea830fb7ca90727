"""What leaves the program: files, drawings, sheets, words. Computes no new numbers."""
