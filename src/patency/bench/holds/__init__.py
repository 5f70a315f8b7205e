"""Holds and overrides: what stands still, what goes on otherwise, and who said so."""
