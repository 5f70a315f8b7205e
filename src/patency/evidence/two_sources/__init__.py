"""Two records of one cycle, the machine's and an independent logger's: aligned in time, compared, judged together."""

from patency.evidence.two_sources.alignment import Alignment, align
from patency.evidence.two_sources.joining import AGREEMENT, Joined, join, worse_of

__all__ = ["AGREEMENT", "Alignment", "Joined", "align", "join", "worse_of"]
