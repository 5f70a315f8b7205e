"""Places of pieces chosen by what geometry and jets say of them."""
