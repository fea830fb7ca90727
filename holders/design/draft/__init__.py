"""A design on its way: where films lie, their lips and notches, and the heights of the frame around them."""
