"""Labels of sets, to be printed."""
