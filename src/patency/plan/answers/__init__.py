"""The six answers for every piece of a load."""
