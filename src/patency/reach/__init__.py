"""What geometry and jets say of a load: room and arms, tipping, drainage, coils and hoses, and what the jets strike.

A load as arranged becomes solids (``solids_of_load``), a machine with the flow of that very load becomes turning arms
(``arms_of_load``), both together tell which patches are struck (``strikes_of_load``, ``strikes_after_move``), and
``reached`` and ``held`` answer from it. Where it was not computed, ``reached`` is never answered ``yes``.
"""

from patency.reach.arms import Arms, Jet, TurningArm, arms_of_load, jet_force_n, jet_speed_m_s
from patency.reach.bodies_to_show import BodyShown, bodies_shown
from patency.reach.candidates import PlacedReach, after_move, placing_reach, posed_reach, stated_anew
from patency.reach.capillary import hold_up_m, surface_tension_n_m
from patency.reach.changes import Change, smallest_change
from patency.reach.checks import faults_of_arrangement, kept_water_m3
from patency.reach.coiling import arc_radius_m, coil_fit, coil_turns, hose_bend
from patency.reach.distances import Clearance, clearances
from patency.reach.draining import LYING_DEG, cup_drain_angle_deg, drainage, kept_volume_m3
from patency.reach.faults import Fault, Rule
from patency.reach.floors import floor_of, free_places, laid_closer, pose_there, stated_as_drawn, without_room
from patency.reach.from_above import FloorPlan, Outline, Rectangle, floor_plans, stated_floor
from patency.reach.jet_replies import joined, shadow_words, shadowed_zones
from patency.reach.jets.casting import RayScene
from patency.reach.jets.inputs import JetSampling, Surface
from patency.reach.jets.strikes import Strikes, strikes_after_move, strikes_of_load
from patency.reach.jets.struck import PieceStrikes, Wetting, ZoneStrikes
from patency.reach.load_reach import LoadReach, held_bytes, reach_of_load, without_samples
from patency.reach.looks import OFTEN_PER_MIN, SELDOM_PER_MIN, Look, looks_of_bodies, looks_of_body
from patency.reach.moving import movable
from patency.reach.placement import Standing, heights_m, inlet_gap_m, standing
from patency.reach.puddles import Puddle, puddles
from patency.reach.replies import held, reached
from patency.reach.room import basket_fit, clearance, pod_fit
from patency.reach.solids.load_solids import Triangles, solids_of_load
from patency.reach.solids.mesh import Mesh, Zone
from patency.reach.solids.placed import (
    Arranged,
    PlacedSolid,
    Pose,
    Role,
    Screen,
    Side,
    lying_pose,
    rotated_in_place,
    standing_pose,
)
from patency.reach.support import tipping
from patency.reach.zone_figures import ZoneFigures, figures_of_zones

__all__ = [
    "LYING_DEG",
    "OFTEN_PER_MIN",
    "SELDOM_PER_MIN",
    "Arms",
    "Arranged",
    "BodyShown",
    "Change",
    "Clearance",
    "Fault",
    "FloorPlan",
    "Jet",
    "JetSampling",
    "LoadReach",
    "Look",
    "Mesh",
    "Outline",
    "PieceStrikes",
    "PlacedReach",
    "PlacedSolid",
    "Pose",
    "Puddle",
    "RayScene",
    "Rectangle",
    "Role",
    "Rule",
    "Screen",
    "Side",
    "Standing",
    "Strikes",
    "Surface",
    "Triangles",
    "TurningArm",
    "Wetting",
    "Zone",
    "ZoneFigures",
    "ZoneStrikes",
    "after_move",
    "arc_radius_m",
    "arms_of_load",
    "basket_fit",
    "bodies_shown",
    "clearance",
    "clearances",
    "coil_fit",
    "coil_turns",
    "cup_drain_angle_deg",
    "drainage",
    "faults_of_arrangement",
    "figures_of_zones",
    "floor_of",
    "floor_plans",
    "free_places",
    "heights_m",
    "held",
    "held_bytes",
    "hold_up_m",
    "hose_bend",
    "inlet_gap_m",
    "jet_force_n",
    "jet_speed_m_s",
    "joined",
    "kept_volume_m3",
    "kept_water_m3",
    "laid_closer",
    "looks_of_bodies",
    "looks_of_body",
    "lying_pose",
    "movable",
    "placing_reach",
    "pod_fit",
    "pose_there",
    "posed_reach",
    "puddles",
    "reach_of_load",
    "reached",
    "rotated_in_place",
    "shadow_words",
    "shadowed_zones",
    "smallest_change",
    "solids_of_load",
    "standing",
    "standing_pose",
    "stated_anew",
    "stated_as_drawn",
    "stated_floor",
    "strikes_after_move",
    "strikes_of_load",
    "surface_tension_n_m",
    "tipping",
    "without_room",
    "without_samples",
]
