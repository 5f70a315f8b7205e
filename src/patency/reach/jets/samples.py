"""Samples of the jets: patch, jet and angle, and what stands between them."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

FREE = -1
"""Nothing stands in the way."""
FIRST_LOOK, SECOND_LOOK, BETWEEN = range(3)
Found = tuple["NDArray[Any]", ...]
"""Patch, jet, angle and for how many angles it stands, of samples that nothing else is known of yet."""
FOUND_TYPES = (np.int32, np.int16, np.int32, np.int16)
_TYPES = (*FOUND_TYPES, np.float32, np.float32, np.int16, np.float32, np.int8)


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
        [sample] share of the jet that comes through wire walls. Where a body stands in the way it means nothing: 0, or
        what it was before the body came. Walls stay where they are, so that a load and those made of it by moves hold
        this array together.
    look
        [sample] with which look it was found.
    looks
        [patch] how often each was looked at anew at finer angles; empty of patches that are looked at together.
    """

    patch_of: NDArray[np.int32]
    jet_of: NDArray[np.int16]
    step_of: NDArray[np.int32]
    stands_for: NDArray[np.int16]
    cosine: NDArray[np.float32]
    pressure_pa: NDArray[np.float32]
    blocker: NDArray[np.int16]
    share: NDArray[np.float32]
    look: NDArray[np.int8]
    looks: NDArray[np.int8]

    def behind(self, body: int) -> NDArray[np.int64]:
        """Return the numbers of the samples in whose way a body stands.

        Parameters
        ----------
        body
            Number of the body.

        Returns
        -------
        NDArray[np.int64]
            In order.
        """
        if body >= len(self._in_way) or not self._in_way[body]:
            return np.empty(0, dtype=np.int64)
        return np.flatnonzero(self.blocker == body)

    @cached_property
    def _in_way(self) -> NDArray[np.bool_]:
        """[body] whether it stands in the way of any sample."""
        return np.bincount(self.blocker - FREE)[1:] > 0

    @cached_property
    def nbytes_of(self) -> dict[int, int]:
        """Identity of each array of which it is made to its bytes; several samples can share some."""
        columns = (*(getattr(self, name) for name in COLUMNS), self.looks)
        return {id(column): column.nbytes for column in columns}


COLUMNS = tuple(field.name for field in fields(Samples) if field.name != "looks")


def joined_samples(parts: Sequence[Samples]) -> Samples:
    """Return several samples of patches that are looked at together in a row.

    Parameters
    ----------
    parts
        The samples; none where there are none.

    Returns
    -------
    Samples
        All of them in the same order.
    """
    none = (np.empty(0, dtype=kind) for kind in _TYPES)
    columns = zip(COLUMNS, none, strict=True)
    joined = {name: np.concatenate([empty, *(getattr(one, name) for one in parts)]) for name, empty in columns}
    return Samples(**joined, looks=np.empty(0, dtype=np.int8))
