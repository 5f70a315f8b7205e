"""The release of a load: evidence first, then a person's decision."""
