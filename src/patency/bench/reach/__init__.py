"""What the jets strike, as a view that turns: a piece is moved, and its shadow with it."""
