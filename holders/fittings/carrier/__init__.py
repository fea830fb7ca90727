"""A carrier as large as the bed, with inserts that change with the film."""
