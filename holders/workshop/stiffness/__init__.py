"""How holders bend: on their feet, in the hand, warm on one side, slowly over time."""
