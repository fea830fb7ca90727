"""The job sheet: everything that one needs on paper to make a holder, load it and scan with it."""
