"""Local losses: what a step in the passage, a tee or an exit costs, in velocity heads.

Every coefficient K is a loss of total head over v²/2g, and says in which passage v is taken. The relations
hold for turbulent flow; below a Reynolds number of about 1000 real losses are larger and depend on it
(I. E. Idelchik, Handbook of Hydraulic Resistance, diagrams 4-1 and 4-10), which the tolerance of losses has
to cover. Handbooks differ by ten to thirty percent in the contraction: see ``sudden_contraction``.
"""

from __future__ import annotations

from patency.errors import InputError

# Flow that leaves into the open loses its velocity head, whatever the edge looks like
# (B. R. Munson et al., Fundamentals of Fluid Mechanics, section 8.4.2; Crane TP-410, A-30).
EXIT = 1.0
# A quarter turn from a pipe's run into a port: 1 + (v_pipe/v_branch)² of the branch's velocity head for a branch of
# at most two thirds of the pipe's area (Crane TP-410 (2009), chapter 2, diverging tee at 90°). The second term is the
# velocity head of the pipe, which the load's network leaves out; docs/physics-load.md tells how much that is.
TEE_BRANCH = 1.0


def _positive_areas(small_m2: float, large_m2: float) -> None:
    if not 0.0 < small_m2 <= large_m2:
        raise InputError("step", f"from {large_m2:g} to {small_m2:g} m²", "areas above 0, the first not the smaller")


def sudden_expansion(area_before_m2: float, area_after_m2: float) -> float:
    """How much a sudden widening costs: (1 - A1/A2)², the loss of Borda and Carnot.

    It follows from the balance of momentum with uniform velocities and agrees with measurements on turbulent flow
    within a few percent (Idelchik, diagram 4-1; Crane TP-410, A-27, for an opening angle of 180°).

    Parameters
    ----------
    area_before_m2
        Cross-section of the narrow passage [m²].
    area_after_m2
        Cross-section of the wide passage behind it [m²].

    Returns
    -------
    float
        K over the velocity head of the narrow passage [-].

    Raises
    ------
    InputError
        If an area is not above zero or the passage does not widen.

    Examples
    --------
    >>> sudden_expansion(1.0, 4.0)
    0.5625
    """
    _positive_areas(area_before_m2, area_after_m2)
    return (1.0 - area_before_m2 / area_after_m2) ** 2


def sudden_contraction(area_before_m2: float, area_after_m2: float) -> float:
    """How much a sudden narrowing with a sharp edge costs: 0.5 (1 - A2/A1).

    Crane TP-410 (2009), A-27, for an angle of 180°; without limit in front it is the sharp entrance, 0.5. Idelchik's
    0.5 (1 - A2/A1)^0.75 (diagram 4-10) lies up to 0.05 higher, Rennels and Hudson's fit up to 0.13.

    Parameters
    ----------
    area_before_m2
        Cross-section of the wide passage [m²].
    area_after_m2
        Cross-section of the narrow passage behind it [m²].

    Returns
    -------
    float
        K over the velocity head of the narrow passage [-].

    Raises
    ------
    InputError
        If an area is not above zero or the passage does not narrow.

    Examples
    --------
    >>> sudden_contraction(4.0, 1.0)
    0.375
    """
    _positive_areas(area_after_m2, area_before_m2)
    return 0.5 * (1.0 - area_after_m2 / area_before_m2)
