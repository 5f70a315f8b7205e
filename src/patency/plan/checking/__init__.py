"""The rules of a plan, written once more and plainly from the catalogue, apart from everything that makes plans."""
