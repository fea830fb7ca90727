"""The test piece: made, measured, its readings turned into corrections."""
