"""The law of friction, one number at a time: what the solver uses, for reading, checking and small sums.

Darcy-Weisbach with f = 64/Re up to Re 2000, the formula of Swamee and Jain from Re 4000 on, and between
them the cubic interpolation by E. Dunlop: the law of the EPANET 2.2 manual (L. Rossman, H. Woo, M. Tryby,
F. Shang, R. Janke, T. Haxton, US EPA, 2020, section on the hydraulic model, head-loss formulas). An annulus
uses its laminar-equivalent Reynolds number (O. C. Jones and J. C. M. Leung, J. Fluids Eng. 103, 1981).
"""

from __future__ import annotations

import math

from patency.errors import InputError
from patency.flow.kernels import friction_factor_and_slope, laminar_constant


def friction_factor(reynolds: float, relative_roughness: float = 0.0) -> float:
    """How much a wall rubs: the Darcy friction factor.

    Continuous with its slope in Re; the head it gives rises strictly with the flow. Swamee and Jain is
    within about 3 % of Colebrook for 5e3 < Re < 1e8 and relative roughness from 1e-6 to 1e-2 (their paper's
    range; J. Hydraul. Div. ASCE 102, 1976), and smooth walls are that near to Prandtl's law. Between Re 2000
    and 4000 real flow may be anything from laminar to turbulent; the law stands for none of it exactly.

    Parameters
    ----------
    reynolds
        Reynolds number [-], above 0; for an annulus the equivalent one of `equivalent_reynolds`.
    relative_roughness
        Sand-grain roughness over hydraulic diameter [-], 0 to below 0.5.

    Returns
    -------
    float
        Darcy friction factor [-], four times Fanning's.

    Raises
    ------
    InputError
        If an argument lies outside its range.

    Examples
    --------
    >>> friction_factor(1000.0)
    0.064
    >>> round(friction_factor(1e5, 2e-4), 6)
    0.018995
    """
    if not 0.0 < reynolds < math.inf:
        raise InputError("Reynolds number", f"{reynolds:g}", "a number above 0")
    if not 0.0 <= relative_roughness < 0.5:
        raise InputError("relative roughness", f"{relative_roughness:g}", "0 to below 0.5")
    return friction_factor_and_slope(reynolds, relative_roughness)[0]


def annulus_constant(diameter_ratio: float) -> float:
    """What f times Re is in the laminar flow of a concentric annulus, with its hydraulic diameter.

    C = 64 (1-k)² / (1 + k² + (1-k²)/ln k), from R. K. Shah and A. L. London, Laminar Flow Forced Convection
    in Ducts, 1978. It runs from 64 (a wire without thickness, reached very slowly) to 96 (parallel plates).
    A rod that lies against the tube's wall lets more through, up to 2.5 times as much in a narrow gap (from memory,
    not verified); the constant is for a rod in the middle.

    Parameters
    ----------
    diameter_ratio
        Diameter of the rod over that of the tube, k [-], between 0 and 1.

    Returns
    -------
    float
        C = f Re [-], Darcy.

    Raises
    ------
    InputError
        If the ratio does not lie between 0 and 1.

    Examples
    --------
    >>> round(annulus_constant(0.5), 3)
    95.25
    """
    if not 0.0 < diameter_ratio < 1.0:
        raise InputError("diameter ratio", f"{diameter_ratio:g}", "between 0 and 1")
    return laminar_constant(diameter_ratio)


def equivalent_reynolds(reynolds: float, diameter_ratio: float) -> float:
    """At which Reynolds number a round pipe rubs as an annulus does: Re* = Re 64/C.

    Exact where the flow is laminar; brings turbulent data of annuli together within about 5 % (Jones and Leung,
    1981; the figure from memory, not verified).

    Parameters
    ----------
    reynolds
        Reynolds number with the hydraulic diameter D - d [-].
    diameter_ratio
        Diameter of the rod over that of the tube [-], between 0 and 1.

    Returns
    -------
    float
        The equivalent Reynolds number [-].

    Raises
    ------
    InputError
        If the ratio does not lie between 0 and 1.
    """
    return reynolds * 64.0 / annulus_constant(diameter_ratio)


def wall_shear_pa(friction_factor: float, density_kg_m3: float, velocity_m_s: float) -> float:
    """How hard the water pulls at the wall: f rho v²/8.

    The same as the pressure drop of friction alone times D_h/(4 L). In an annulus that is the mean over both
    walls, weighted by their areas; the rod's is the higher one.

    Parameters
    ----------
    friction_factor
        Darcy friction factor [-].
    density_kg_m3
        Density of the water [kg/m³].
    velocity_m_s
        Mean velocity [m/s].

    Returns
    -------
    float
        Wall shear stress [Pa].

    Examples
    --------
    >>> round(wall_shear_pa(64.0 / 518.2, 998.21, 0.5200), 3)
    4.167
    """
    return friction_factor * density_kg_m3 * velocity_m_s * velocity_m_s / 8.0
