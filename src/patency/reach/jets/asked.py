"""Patches of one or several surfaces that are looked at together."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.samples import COLUMNS, Samples

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.reach.jets.inputs import Surface
    from patency.reach.solids.mesh import Floats, Integers


class Asked(NamedTuple):
    """Patches of one or several surfaces that are looked at together.

    Parameters
    ----------
    centres, normals
        [patch, 3] centre [m] and outward unit normal.
    numbers
        [patch] number of each within its own surface.
    begins
        [surface + 1] where those of each surface begin, and where the last ends.
    """

    centres: Floats
    normals: Floats
    numbers: Integers
    begins: Integers

    def split(self, samples: Samples) -> list[Samples]:
        """Return the samples of each surface, patches by their own numbers.

        Parameters
        ----------
        samples
            Samples of the patches as they are asked for together.

        Returns
        -------
        list[Samples]
            Surface by surface, in the same order.
        """
        part = np.searchsorted(self.begins, samples.patch_of, side="right") - 1
        order = np.argsort(part, kind="stable")
        ends = np.searchsorted(part[order], np.arange(len(self.begins)))
        columns = {name: getattr(samples, name)[order] for name in COLUMNS}
        columns["patch_of"] = self.numbers[columns["patch_of"]].astype(np.int32)
        return [
            replace(samples, **{name: column[first:last] for name, column in columns.items()})
            for first, last in pairwise(ends)
        ]


def asked_of(surfaces: Sequence[tuple[Surface, Integers]]) -> Asked:
    """Gather patches of several surfaces.

    Parameters
    ----------
    surfaces
        Each with the numbers of its patches that are asked for.

    Returns
    -------
    Asked
        Surface by surface.
    """
    centres = np.concatenate([surface.centres[numbers] for surface, numbers in surfaces])
    normals = np.concatenate([surface.normals[numbers] for surface, numbers in surfaces])
    begins = np.cumsum([0, *(len(numbers) for _, numbers in surfaces)])
    return Asked(centres, normals, np.concatenate([numbers for _, numbers in surfaces]), begins)
