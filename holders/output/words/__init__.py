"""Results as plain values and sentences, the same for terminal, page and sheet."""
