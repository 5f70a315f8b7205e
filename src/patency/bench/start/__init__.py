"""The first look: where to begin, for whom."""
