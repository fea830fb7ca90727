"""The holder from above: layout on the bed, lips, notches, feet, frame, lettering."""
