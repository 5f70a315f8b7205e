"""What truly happened in the cycles of the demo day: closed to all but the demo, so that detection can be scored."""

from patency.demo.truth.cycles import TRUTHS, CycleTruth

__all__ = ["TRUTHS", "CycleTruth"]
