"""The target in the scan: where it lies, its marks and ticks, samples of its detail."""
