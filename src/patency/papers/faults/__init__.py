"""The faults of a load as a picture: which lumens each one starves, and whether a sensor shows it."""
