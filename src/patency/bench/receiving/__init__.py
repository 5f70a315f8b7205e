"""Receiving, counting, treating by hand and taking apart."""
