"""Rules on heights and on the chance of a sharp picture."""
