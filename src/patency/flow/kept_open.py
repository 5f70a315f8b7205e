"""How far a size may go, however doubtful or clogged, before there is no passage any more that could be computed."""

from __future__ import annotations

MOST_ROUGHNESS = 0.49
"""The roughest a wall is taken for, over the hydraulic diameter [-]: a network refuses half of it and more, for two
walls that rough would meet."""
LEAST_GAP = 1e-3
"""What stays open of an annulus whose rod is as thick and whose tube as narrow as can be, over the tube's bore [-]: a
choice, below any gap that a real annulus has."""
LEAST_GAP_OVER_ROUGHNESS = 4.0
"""The same over the roughness of its walls [-]: a choice, so that their roughness fits twice into what is left."""
