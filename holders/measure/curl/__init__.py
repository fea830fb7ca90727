"""How curled a film is: from a ruler, from a scan of film stood on edge, and kept in a film record."""
