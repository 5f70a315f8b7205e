"""Pictures of what the jets strike: a load, or one piece, seen from four sides."""
