"""What every room may use: errors, findings, safe writing, processes. It knows no holder."""
