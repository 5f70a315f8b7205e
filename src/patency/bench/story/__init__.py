"""The whole story of one set."""
