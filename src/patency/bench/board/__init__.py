"""The board: what is where, and what is late."""
