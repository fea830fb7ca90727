"""What can be wrong with a holder, one rule per class; every rule says what it measured."""
