"""Which parameters the readings cannot tell apart, from the singular values of their derivatives, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# A direction of whose variance nine tenths are left: its singular value s is below one third, 1 / (1 + s²) above 0.9.
_WEAK = 1.0 / 3.0
_TAKES_PART = 0.25  # of the largest share in a group


class Confounded(NamedTuple):
    """Parameters of which the readings know one combination less than there are of them."""

    names: tuple[str, ...]
    weights: tuple[float, ...]
    """Along these the readings stay as they are, in standard deviations of what was known before."""

    @property
    def words(self) -> str:
        """The same as a sentence."""
        if len(self.names) == 1:
            return f"the readings say next to nothing about {self.names[0]}"
        up = [name for name, weight in zip(self.names, self.weights, strict=True) if weight > 0.0]
        down = [name for name, weight in zip(self.names, self.weights, strict=True) if weight < 0.0]
        if down:
            how = f"more of {_listed(up)} with less of {_listed(down)} gives the same readings"
        else:
            how = "more of all of them together gives the same readings"
        return f"{_listed(self.names)} cannot be told apart: {how}"


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def cannot_tell_apart(rows: Floats, covariance: Floats, names: Sequence[str]) -> tuple[Confounded, ...]:
    """Find the groups of parameters the readings leave as they were.

    Parameters
    ----------
    rows
        Shape (readings, parameters): derivatives of the readings over their standard deviations.
    covariance
        Shape (parameters, parameters): what was known before.
    names
        Names of the parameters.

    Returns
    -------
    tuple[Confounded, ...]
        As few parameters in each group as the weak directions allow; empty where everything was learned.
    """
    spread = np.sqrt(np.diag(covariance))
    _, singular, turned = np.linalg.svd(rows * spread, full_matrices=True)
    singular = np.concatenate((singular, np.zeros(len(names) - singular.size)))
    weak = turned[singular < _WEAK]
    groups = []
    for direction in _sparse_basis(weak):
        largest = float(np.abs(direction).max())
        part = [column for column in range(len(names)) if abs(direction[column]) >= _TAKES_PART * largest]
        sign = float(np.sign(direction[part[0]]))
        groups.append(
            Confounded(tuple(names[k] for k in part), tuple(float(sign * direction[k] / largest) for k in part))
        )
    return tuple(groups)


def _sparse_basis(directions: Floats) -> Floats:
    """Turn the basis of a space so that each vector holds few parameters: reduced echelon form with pivots."""
    basis = directions.copy()
    used: list[int] = []
    for row in range(basis.shape[0]):
        left = np.abs(basis[row:])
        left[:, used] = 0.0
        at, column = np.unravel_index(int(np.argmax(left)), left.shape)
        basis[[row, row + int(at)]] = basis[[row + int(at), row]]
        basis[row] /= basis[row, column]
        for other in range(basis.shape[0]):
            if other != row:
                basis[other] -= basis[other, column] * basis[row]
        used.append(int(column))
    return basis
