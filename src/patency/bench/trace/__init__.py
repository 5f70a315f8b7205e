"""The trace: what one thing touched, forward and backward, each with its reason."""
