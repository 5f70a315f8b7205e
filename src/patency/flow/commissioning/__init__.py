"""Commissioning by measurement: what to measure on the bench, what the readings say, whether a port clogs."""
