"""The measurement form of the bench, and the picture of what was measured beside what is predicted."""
