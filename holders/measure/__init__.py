"""What is measured at home: a bed's focus height, a finished scan, a film's curl and surface."""
