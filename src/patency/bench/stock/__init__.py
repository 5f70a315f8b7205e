"""Accessories: how many there are, which loads have them, whether the plan still holds."""
