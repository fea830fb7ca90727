"""How blurred a finished scan is, place by place: spectra, their model, and what they can decide."""
