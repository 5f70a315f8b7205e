"""The flow laboratory: touch a port and see what every lumen gets."""
