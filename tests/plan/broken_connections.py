"""Plans in which water does not get where it should: connections, last links, caps."""

from __future__ import annotations

from patency.load import CappedPort, Connection
from tests.plan.breaking import fed, load, piece, site
from tests.plan.cases import ADAPTED, BOTH_LUMENS_APART, FORCEPS, GOOD, H3, N2, SLEEVE, TUBE, TWO_LUMENS, Broken, lumens
from tests.small_plan import NOON_LOAD, SMALL_PLAN, TAPER

OF_SHAFT = "gender: female}\n            side_holes: []\n            dead_ends: []\n            strainer_upstream: "
OF_TUBE = "grip: 15 mm\n            side_holes: "
BROKEN: list[Broken] = [
    (
        "every lumen",
        load(piece(SMALL_PLAN, "Noon", FORCEPS, lumens=()), capped_ports=(TAPER, H3)),
        GOOD,
        "its lumen shaft is not connected",
    ),
    (
        "every lumen",
        piece(SMALL_PLAN, "Noon", FORCEPS, lumens=(Connection(lumen="shaft", port="H3", chain=()),) * 2),
        GOOD,
        "its lumen shaft is connected 2 times",
    ),
    (
        "one piece per port",
        load(
            piece(fed(SMALL_PLAN, "Noon", FORCEPS, port="H2"), "Noon", FORCEPS, position="H2"),
            capped_ports=(TAPER, H3),
        ),
        GOOD,
        "it feeds Morning fix5/1/whole and Noon fix5/1/whole",
    ),
    (
        "no lumens in series",
        load(
            piece(
                BOTH_LUMENS_APART,
                "Noon",
                FORCEPS,
                lumens=lumens("H3", "H3"),
            ),
            1,
            capped_ports=NOON_LOAD.capped_ports,
        ),
        TWO_LUMENS,
        "its lumens shaft and tip hang on one port",
    ),
    (
        "where it stands",
        piece(piece(SMALL_PLAN, "Noon", FORCEPS, position="H2"), "Morning", FORCEPS, position="H3"),
        GOOD,
        "it stands at H3, which feeds none of its lumens",
    ),
    (
        "kind of feed",
        fed(SMALL_PLAN, "Noon", SLEEVE, chain=(), nozzle_depth_m=None),
        GOOD,
        "lumen bore needs an injector nozzle and has none",
    ),
    (
        "kind of feed",
        fed(SMALL_PLAN, "Morning", TUBE, chain=("thread_adapter", "nozzle_6"), nozzle_depth_m=0.02),
        ADAPTED,
        "lumen bore needs a connection and gets an injector nozzle",
    ),
    (
        "kind of feed",
        fed(SMALL_PLAN, "Noon", SLEEVE, chain=("thread_hose", "nozzle_6")),
        ADAPTED,
        "its injector nozzle hangs on a hose and cannot carry it",
    ),
    ("links join", fed(SMALL_PLAN, "Morning", TUBE, chain=()), GOOD, "port H1 does not join the inlet of lumen bore"),
    (
        "links join",
        fed(SMALL_PLAN, "Noon", FORCEPS, chain=("thread_adapter",)),
        ADAPTED,
        "thread_adapter does not join the inlet of lumen shaft",
    ),
    (
        "links join",
        load(
            piece(fed(SMALL_PLAN, "Noon", SLEEVE, port="T1"), "Noon", SLEEVE, position="T1"),
            capped_ports=(N2,),
        ),
        GOOD,
        "port T1 does not join nozzle_6",
    ),
    ("links join", SMALL_PLAN, site(("size: 5 ± 0.5 mm", "size: 4 ± 0.5 mm")), "sleeve_5 does not join the inlet"),
    ("links join", SMALL_PLAN, site(("gender: male, size: 5 mm", "gender: male")), "sleeve_5 does not join the inlet"),
    (
        "last link",
        fed(SMALL_PLAN, "Morning", TUBE, chain=("sleeve_5", "sleeve_5")),
        GOOD,
        "sleeve_5 can only be the last link of a chain",
    ),
    (
        "chain length",
        fed(SMALL_PLAN, "Noon", FORCEPS, chain=("extension",) * 4),
        ADAPTED,
        "its chain has 4 adapters, allowed are 3",
    ),
    (
        "strainer",
        SMALL_PLAN,
        site((f"{OF_SHAFT}false", f"{OF_SHAFT}true")),
        "lumen shaft needs a strainer upstream and has none",
    ),
    (
        "sleeve grip",
        SMALL_PLAN,
        site(("grip: 15 mm", "grip: 9 mm")),
        "the sleeve has to cover 10 mm, the piece offers 9 mm",
    ),
    (
        "side holes",
        SMALL_PLAN,
        site((f"{OF_TUBE}[]", f"{OF_TUBE}[{{count: 2, diameter: 1 mm, from_inlet: 8 mm}}]")),
        "the sleeve covers 10 mm and with it the side hole at 8 mm",
    ),
    (
        "nozzle width",
        SMALL_PLAN,
        site(("outer: 6 mm", "outer: 9 mm")),
        "the nozzle is 9 mm wide, allowed are 70% of the bore of 11.5 mm",
    ),
    (
        "nozzle depth",
        fed(SMALL_PLAN, "Noon", SLEEVE, nozzle_depth_m=0.019),
        GOOD,
        "the nozzle stands 19 mm deep, at least 20 mm are needed",
    ),
    (
        "nozzle depth",
        fed(SMALL_PLAN, "Noon", SLEEVE, nozzle_depth_m=0.081),
        GOOD,
        "the nozzle stands 81 mm deep and is 80 mm long",
    ),
    (
        "nozzle depth",
        fed(SMALL_PLAN, "Noon", SLEEVE, nozzle_depth_m=0.111),
        GOOD,
        "the nozzle stands 111 mm deep in a bore 110 mm long",
    ),
    (
        "nozzle depth",
        fed(SMALL_PLAN, "Noon", SLEEVE, nozzle_depth_m=None),
        GOOD,
        "how deep the nozzle stands in the bore is not planned",
    ),
    (
        "nozzle depth",
        SMALL_PLAN,
        site(("80 mm\n    side_holes: []", "80 mm\n    side_holes: [{count: 2, diameter: 1 mm, from_inlet: 50 mm}]")),
        "at 20 mm a side hole of the nozzle is outside the bore",
    ),
    (
        "depth without nozzle",
        fed(SMALL_PLAN, "Morning", TUBE, nozzle_depth_m=0.02),
        GOOD,
        "a depth is planned for an injector nozzle that is not in its chain",
    ),
    ("unused ports", load(SMALL_PLAN, capped_ports=()), GOOD, "it feeds nothing and is neither capped nor listed"),
    (
        "used ports",
        load(SMALL_PLAN, capped_ports=(TAPER, CappedPort(port="H2", cap="hose_cap"))),
        GOOD,
        "it feeds a lumen and is closed with hose_cap",
    ),
    (
        "used ports",
        load(SMALL_PLAN, open_ports=("H2",)),
        site(("    name: cap for a hose\n    stock: 2", "    name: cap for a hose\n    stock: 0")),
        "it feeds a lumen and is listed as unused",
    ),
    ("listed once", load(SMALL_PLAN, open_ports=("T1",)), GOOD, "it is listed 2 times as capped or open"),
    (
        "caps fit",
        load(SMALL_PLAN, capped_ports=(CappedPort(port="T1", cap="hose_cap"),)),
        GOOD,
        "hose_cap does not close it",
    ),
    (
        "open ports",
        load(SMALL_PLAN, capped_ports=(), open_ports=("T1",)),
        GOOD,
        "it is left open although taper_cap is in stock",
    ),
]
