"""What people read: pictures, sheets and the machine-readable summary. Computes no new numbers."""
