"""Findings at the bench: one touch, a picture if one helps, and the next step."""
