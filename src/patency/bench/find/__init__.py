"""What was scanned outside of any page that waits for something: a badge, a set, a piece, a load."""
