"""Loading a carrier, one piece at a time."""
