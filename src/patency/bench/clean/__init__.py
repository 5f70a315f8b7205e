"""The clean side, plainly."""
