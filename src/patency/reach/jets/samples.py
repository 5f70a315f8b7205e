"""Samples of the jets: patch, jet and angle, and what stands between them."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

FREE = -1
"""Nothing stands in the way."""
FIRST_LOOK, SECOND_LOOK, BETWEEN = range(3)
Found = tuple["NDArray[Any]", ...]
"""Patch, jet, angle and for how many angles it stands, of samples that nothing else is known of yet."""
FOUND_TYPES = (np.int32, np.int16, np.int32, np.int16)


@dataclass(frozen=True, eq=False)
class Samples:
    """Everything in which a patch lies in a jet's cone and looks toward it.

    Parameters
    ----------
    patch_of, jet_of, step_of
        [sample] patch of the surface, jet, angle of its arm.
    stands_for
        [sample] how many angles it stands for.
    cosine
        [sample] cosine of the incidence: 1 straight on.
    pressure_pa
        [sample] impact pressure where nothing stands in the way [Pa].
    blocker
        [sample] number of the body that stands in the way; ``FREE`` where none does.
    share
        [sample] share of the jet that comes through wire walls; 0 where a body stands in the way.
    look
        [sample] with which look it was found.
    looks
        [patch] how often each was looked at anew at finer angles.
    """

    patch_of: NDArray[np.int32]
    jet_of: NDArray[np.int16]
    step_of: NDArray[np.int32]
    stands_for: NDArray[np.int16]
    cosine: NDArray[np.float32]
    pressure_pa: NDArray[np.float32]
    blocker: NDArray[np.int32]
    share: NDArray[np.float32]
    look: NDArray[np.int8]
    looks: NDArray[np.int8]

    def columns(self) -> tuple[NDArray[Any], ...]:
        """Return the arrays of which it is made."""
        return (*(getattr(self, name) for name in COLUMNS), self.looks)


COLUMNS = tuple(field.name for field in fields(Samples) if field.name != "looks")
