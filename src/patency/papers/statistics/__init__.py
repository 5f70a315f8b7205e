"""Control charts as pictures, readable in black and white."""
