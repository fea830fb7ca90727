"""Every number of a holder decided: layout, heights, fittings, parts."""
