"""Whether a load as planned is inside what the department validated, and what to qualify next."""
