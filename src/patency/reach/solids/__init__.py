"""Pieces, what connects them, baskets and carrier as triangulated bodies in their places."""
