"""The first start: the one-time link makes the first accounts."""
