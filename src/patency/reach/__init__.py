"""What geometry says of a placed piece: room and arms, tipping, drainage, coils and hoses; later, which jets strike it.

While that is not computed, ``reached`` answers ``no`` or ``unknown``, never ``yes``.
"""

from patency.reach.capillary import hold_up_m, surface_tension_n_m
from patency.reach.coiling import arc_radius_m, coil_fit, coil_turns, hose_bend
from patency.reach.draining import LYING_DEG, cup_drain_angle_deg, drainage, kept_volume_m3
from patency.reach.placement import Standing, heights_m, inlet_gap_m, standing
from patency.reach.replies import held, joined, reached
from patency.reach.room import basket_fit, clearance, pod_fit
from patency.reach.support import tipping

__all__ = [
    "LYING_DEG",
    "Standing",
    "arc_radius_m",
    "basket_fit",
    "clearance",
    "coil_fit",
    "coil_turns",
    "cup_drain_angle_deg",
    "drainage",
    "heights_m",
    "held",
    "hold_up_m",
    "hose_bend",
    "inlet_gap_m",
    "joined",
    "kept_volume_m3",
    "pod_fit",
    "reached",
    "standing",
    "surface_tension_n_m",
    "tipping",
]
