"""Departments and plans that the broken plans start from."""

from __future__ import annotations

from datetime import datetime

from patency.catalogue import Department
from patency.load import CappedPort, Connection, Plan
from tests.plan.breaking import load, piece, plenty, site, with_more
from tests.small_plan import NOON_LOAD, OF_MORNING, PLAN_OF_TWO, SMALL_PLAN, TAPER

Broken = tuple[str, Plan, Department, str]
"""The rule that is broken, the plan and the department that break it, words of the finding."""

SEAL, FORCEPS, SLEEVE, TUBE = "sleeve11/1/seal", "fix5/1/whole", "sleeve11/1/sleeve", "mod5/1/tube"
H1, H3 = CappedPort(port="H1", cap="hose_cap"), CappedPort(port="H3", cap="hose_cap")
N1, N2 = CappedPort(port="N1", cap="nozzle_cap"), CappedPort(port="N2", cap="nozzle_cap")
GOOD = site()


def at(time: str) -> datetime:
    """Return a time of the day of the plan."""
    return datetime.fromisoformat(f"2026-03-02T{time}")


def lumens(shaft: str, tip: str) -> tuple[Connection, Connection]:
    """Return the connections of a forceps with two flush ports."""
    return Connection(lumen="shaft", port=shaft, chain=()), Connection(lumen="tip", port=tip, chain=())


ADAPTERS = """accessories:
  thread_adapter:
    kind: adapter
    name: luer to carrier thread
    stock: 9
    near: {family: luer, gender: female}
    far: {family: carrier_thread, gender: male}
    bore: 2 mm
    length: 20 mm
  extension:
    kind: adapter
    name: luer extension
    stock: 9
    near: {family: luer, gender: female}
    far: {family: luer, gender: male}
    bore: 2 mm
    length: 20 mm
  thread_hose:
    kind: hose
    name: hose with threads
    stock: 9
    near: {family: carrier_thread, gender: female}
    far: {family: carrier_thread, gender: male}
    bore: 3 mm
    length: 300 mm
    outer: 6 mm
"""
TIP = """          tip:
            fed_by: connection
            inlet: {family: luer, gender: female}
            segments:
              - {shape: bore, bore: 2 mm, length: 200 mm}
            side_holes: []
            dead_ends: []
            strainer_upstream: false
            need: {maximum_pressure: none}
          shaft:
"""
ADAPTED = plenty(site(("accessories:\n", ADAPTERS)))
TWO_LUMENS = site(("          shaft:\n", TIP))
SHORT_HOSES = site(
    ("          shaft:\n", TIP), ("length: 200 mm\n          outer: 5 mm", "length: 50 mm\n          outer: 5 mm")
)
WIDE_JETS = site(
    (
        "{count: 10, outlet: 4 mm, discharge_coefficient: 0.8}\n      upper",
        "{count: 90, outlet: 30 mm, discharge_coefficient: 0.8}\n      upper",
    ),
    # so wide that the pipe alone would take more than the pump's curve, shortened here, reaches
    ("        - {flow: 800 L/min, head: 1.7 m}\n", ""),
)
TWO_CABLES = site(("cable: 1, optic", "cable: 2, optic"))
QUICK = with_more(GOOD, programmes={**GOOD.programmes, "quick": GOOD.programmes["gentle"]})
TWO_KINDS = with_more(GOOD, machine_kinds={**GOOD.machine_kinds, "tunnel": GOOD.machine_kinds["front_loader"]})
TWO_MACHINES = plenty(with_more(GOOD, machines={**GOOD.machines, "Beta": GOOD.machines["Alpha"]}))
_DOCKS_BOTH = GOOD.machines["Alpha"].model_copy(update={"docks": ["Wren", "Robin"]})
TWO_CARRIERS = plenty(
    with_more(GOOD, carriers={**GOOD.carriers, "Robin": GOOD.carriers["Wren"]}, machines={"Alpha": _DOCKS_BOTH})
)

ONLY_MORNING = load(SMALL_PLAN, sets=("Morning",), pieces=OF_MORNING, capped_ports=(N2, H3, TAPER))
BOTH_LUMENS_APART = load(
    load(
        piece(
            piece(PLAN_OF_TWO, "Morning", FORCEPS, lumens=lumens("H2", "H3")),
            "Noon",
            FORCEPS,
            lumens=lumens("H3", "H2"),
        ),
        0,
        capped_ports=(N2, TAPER),
    ),
    1,
    capped_ports=(N1, H1, TAPER),
)
TWO_ON_THE_RACK = load(
    SMALL_PLAN,
    pieces=(
        *SMALL_PLAN.loads[0].pieces,
        *(
            placed.model_copy(update={"piece": "cable/2/cable"})
            for placed in SMALL_PLAN.loads[0].pieces
            if placed.piece == "cable/1/cable"
        ),
    ),
)
NOON_TWICE = SMALL_PLAN.model_copy(
    update={
        "loads": (
            SMALL_PLAN.loads[0],
            NOON_LOAD.model_copy(update={"starts": at("13:33"), "ends": at("14:33")}),
        ),
        "proven_fewest": False,
        "objective": {"loads": 2.0},
    }
)
TWO_SEALS = site(("        name: seal\n", "        name: seal\n        count: 2\n"))
TWO_SEALS_APART = load(
    SMALL_PLAN,
    pieces=tuple(
        one
        for placed in SMALL_PLAN.loads[0].pieces
        for one in (
            (
                placed.model_copy(update={"piece": f"{SEAL}/1"}),
                placed.model_copy(
                    update={"piece": f"{SEAL}/2", "stands_in": None if placed.set == "Noon" else placed.stands_in}
                ),
            )
            if placed.piece == SEAL
            else (placed,)
        )
    ),
)
