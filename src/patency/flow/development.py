"""What it costs until laminar flow has found its profile behind a step.

The law of friction is that of a profile which no longer changes. Behind a step the flow starts almost flat (the loss of
Borda and Carnot supposes so behind a widening, too), shears harder at the wall and speeds up in the middle; the extra
loss of pressure is known as Hagenbach's.
R. K. Shah (J. Fluids Eng. 100, 1978, 177-179) gives the apparent friction from the entrance on,

    f Re = 3.44/√x + (K/(4 x) + F - 3.44/√x) / (1 + C/x²),    x = L/(D_h Re),

with Fanning's f, within 2.4 % of computed flows. The excess over developed friction rises with the length and ends at K
velocity heads: 1.25 for a bore. It contains the rise of the flow's kinetic energy from the flat to the developed
profile, so the loss at an exit stays one mean velocity head.
"""

from __future__ import annotations

import math

# Shah (1978), table 1: K, F and C of concentric annuli by ratio of the diameters, from memory, not verified. F is
# checked against the exact friction of annuli and K against the integral over the exact profile in the tests.
_ANNULI = (
    # ratio, K, F, C
    (0.05, 0.830, 21.567, 0.000050),
    (0.10, 0.784, 22.343, 0.000043),
    (0.50, 0.688, 23.813, 0.000032),
    (0.75, 0.678, 23.967, 0.000030),
    (1.00, 0.674, 24.000, 0.000029),
)
_BORE = (1.25, 16.0, 0.000212)


def laminar_development_loss(length_m: float, hydraulic_diameter_m: float, reynolds: float, ratio: float) -> float:
    """How much a laminar stretch costs beyond developed friction, where its flow starts out flat.

    Parameters
    ----------
    length_m
        Length of the stretch [m].
    hydraulic_diameter_m
        Bore, or tube less rod [m].
    reynolds
        Reynolds number with the hydraulic diameter [-].
    ratio
        Diameter of the rod over that of the tube [-]; 0 for a bore. Between the ratios of the source's table the
        constants are interpolated, below 0.05 those of 0.05 are used.

    Returns
    -------
    float
        Excess loss over the velocity head of the stretch [-], from 0 for a very short one to 1.25 (bore) or about 0.7
        (annulus) for a long one. Within 2.4 % of the apparent friction, as the source says.

    Examples
    --------
    >>> round(laminar_development_loss(0.33, 0.001, 1500.0, ratio=0.0), 2)
    1.21
    """
    limit, friction, bend = _BORE if ratio == 0.0 else _annulus_constants(ratio)
    x = length_m / (hydraulic_diameter_m * reynolds)
    start = 3.44 / math.sqrt(x)
    apparent = start + (limit / (4.0 * x) + friction - start) / (1.0 + bend / x**2)
    return 4.0 * x * (apparent - friction)


def _annulus_constants(ratio: float) -> tuple[float, float, float]:
    above = next(i for i, row in enumerate(_ANNULI) if ratio <= row[0])
    if above == 0:
        return _ANNULI[0][1:]
    low, high = _ANNULI[above - 1], _ANNULI[above]
    share = (ratio - low[0]) / (high[0] - low[0])
    limit, friction, bend = (a + share * (b - a) for a, b in zip(low[1:], high[1:], strict=True))
    return limit, friction, bend
