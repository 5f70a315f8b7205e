"""A plan of the small department, made by hand: one load with both sets, every port used but the taper.

Worked out on paper from the text of ``tests/small_site.py``. Noon is back at 12:15 and takes 8 minutes on the soiled
side; the programme takes an hour.
"""

from __future__ import annotations

from datetime import date, datetime

from patency.catalogue import Leaning, Part, Placing, State
from patency.load import CappedPort, Connection, Load, PlacedPiece, Plan

SLEEVE_STATES = {Part.TAP: State.OPEN, Part.SEALS: State.REMOVED}
FORCEPS_STATES = {Part.JAWS: State.OPEN, Part.RATCHET: State.RELEASED}


def over_nozzle(set_name: str, port: str) -> PlacedPiece:
    """Return a trocar sleeve over the injector nozzle on a port; 20 mm of the nozzle's 80 mm stand inside."""
    return PlacedPiece(
        set=set_name,
        piece="sleeve11/1/sleeve",
        placing=Placing.PORT,
        position=port,
        lumens=(Connection(lumen="bore", port=port, chain=("nozzle_6",), nozzle_depth_m=0.020),),
        way_up="distal up",
        states=SLEEVE_STATES,
    )


def forceps(set_name: str, port: str) -> PlacedPiece:
    """Return a fixed forceps whose flush port is on the luer end of a port's hose."""
    return PlacedPiece(
        set=set_name,
        piece="fix5/1/whole",
        placing=Placing.PORT,
        position=port,
        lumens=(Connection(lumen="shaft", port=port, chain=()),),
        way_up="distal up",
        leans=Leaning.BACK,
        states=FORCEPS_STATES,
    )


def lying(
    set_name: str,
    piece: str,
    placing: Placing,
    position: str,
    states: dict[Part, State] | None = None,
    stands_in: str | None = None,
) -> PlacedPiece:
    """Return a piece without a lumen in its place."""
    return PlacedPiece(
        set=set_name,
        piece=piece,
        placing=placing,
        position=position,
        stands_in=stands_in,
        way_up="lying",
        states=states or {},
    )


TUBE = PlacedPiece(
    set="Morning",
    piece="mod5/1/tube",
    placing=Placing.PORT,
    position="H1",
    lumens=(Connection(lumen="bore", port="H1", chain=("sleeve_5",)),),
    way_up="distal up",
    leans=Leaning.BACK,
)
INSERT = PlacedPiece(
    set="Morning",
    piece="mod5/1/insert",
    placing=Placing.BASKET,
    position="B1",
    way_up="lying",
    states={Part.JAWS: State.OPEN},
    net=True,
)
CABLE = PlacedPiece(set="Morning", piece="cable/1/cable", placing=Placing.COIL_RACK, position="C1", way_up="coiled")
TAPER = CappedPort(port="T1", cap="taper_cap")
OF_MORNING = (
    over_nozzle("Morning", "N1"),
    TUBE,
    forceps("Morning", "H2"),
    lying("Morning", "sleeve11/1/seal", Placing.POD, "Morning", stands_in="B1"),
    lying("Morning", "mod5/1/handle", Placing.BASKET, "B1", {Part.RATCHET: State.RELEASED}),
    INSERT,
    CABLE,
    lying("Morning", "optic/1/optic", Placing.OPTIC_HOLDER, "holder", stands_in="B1"),
)
OF_NOON = (
    over_nozzle("Noon", "N2"),
    forceps("Noon", "H3"),
    lying("Noon", "sleeve11/1/seal", Placing.POD, "Noon", stands_in="B2"),
)
LOAD = Load(
    id="L1",
    carrier="Wren",
    machine_kind="front_loader",
    machine="Alpha",
    programme="gentle",
    sets=("Morning", "Noon"),
    starts=datetime.fromisoformat("2026-03-02T12:23"),
    ends=datetime.fromisoformat("2026-03-02T13:23"),
    pieces=(*OF_MORNING, *OF_NOON),
    capped_ports=(TAPER,),
)
SMALL_PLAN = Plan(
    site="Small Infirmary (invented)",
    day=date(2026, 3, 2),
    loads=(LOAD,),
    loads_at_least=1,
    proven_fewest=True,
    objective={"loads": 1.0},
    bound={"loads": 1.0},
)
MORNING_LOAD = LOAD.model_copy(
    update={
        "sets": ("Morning",),
        "starts": datetime.fromisoformat("2026-03-02T11:45"),
        "ends": datetime.fromisoformat("2026-03-02T12:45"),
        "pieces": OF_MORNING,
        "capped_ports": (CappedPort(port="N2", cap="nozzle_cap"), CappedPort(port="H3", cap="hose_cap"), TAPER),
    }
)
NOON_LOAD = LOAD.model_copy(
    update={
        "id": "L2",
        "sets": ("Noon",),
        "starts": datetime.fromisoformat("2026-03-02T12:55"),
        "ends": datetime.fromisoformat("2026-03-02T13:55"),
        "pieces": OF_NOON,
        "capped_ports": (
            CappedPort(port="N1", cap="nozzle_cap"),
            CappedPort(port="H1", cap="hose_cap"),
            CappedPort(port="H2", cap="hose_cap"),
            TAPER,
        ),
    }
)
PLAN_OF_TWO = SMALL_PLAN.model_copy(
    update={
        "loads": (MORNING_LOAD, NOON_LOAD),
        "proven_fewest": False,
        "objective": {"loads": 2.0},
    }
)
"""The same sets in two loads, one after the other on the same carrier: allowed, and not the fewest."""
