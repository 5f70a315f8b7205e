"""Connector chains: every legal one from a port to a lumen, and which link is missing where there is none."""
