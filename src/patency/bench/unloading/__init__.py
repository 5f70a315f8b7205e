"""Unloading: where to look first, what was off, what comes back."""
