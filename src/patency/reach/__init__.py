"""What geometry says of a placed piece: room and arms, tipping, drainage, coils and hoses; later, which jets strike it.

While that is not computed, ``reached`` answers ``no`` or ``unknown``, never ``yes``.
"""

from patency.reach.arms import Arms, Jet, TurningArm, arms_of_load, jet_force_n, jet_speed_m_s
from patency.reach.capillary import hold_up_m, surface_tension_n_m
from patency.reach.coiling import arc_radius_m, coil_fit, coil_turns, hose_bend
from patency.reach.draining import LYING_DEG, cup_drain_angle_deg, drainage, kept_volume_m3
from patency.reach.placement import Standing, heights_m, inlet_gap_m, standing
from patency.reach.replies import held, joined, reached
from patency.reach.room import basket_fit, clearance, pod_fit
from patency.reach.solids.load_solids import solids_of_load
from patency.reach.solids.mesh import Mesh, Zone
from patency.reach.solids.placed import (
    Arranged,
    PlacedSolid,
    Pose,
    Role,
    Screen,
    lying_pose,
    rotated_in_place,
    standing_pose,
)
from patency.reach.support import tipping

__all__ = [
    "LYING_DEG",
    "Arms",
    "Arranged",
    "Jet",
    "Mesh",
    "PlacedSolid",
    "Pose",
    "Role",
    "Screen",
    "Standing",
    "TurningArm",
    "Zone",
    "arc_radius_m",
    "arms_of_load",
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
    "jet_force_n",
    "jet_speed_m_s",
    "joined",
    "kept_volume_m3",
    "lying_pose",
    "pod_fit",
    "reached",
    "rotated_in_place",
    "solids_of_load",
    "standing",
    "standing_pose",
    "surface_tension_n_m",
    "tipping",
]
