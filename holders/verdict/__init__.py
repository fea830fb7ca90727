"""The one judgement on a holder: the chance of a good scan, the largest doubt, and what to do next."""
