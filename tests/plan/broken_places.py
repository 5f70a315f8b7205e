"""Plans in which pieces have no stock, no room or no hold."""

from __future__ import annotations

from patency.catalogue import Leaning, Part, Placing, State
from patency.load import OnFloor
from tests.plan.breaking import load, piece, site
from tests.plan.cases import (
    BOTH_LUMENS_APART,
    FORCEPS,
    GOOD,
    SEAL,
    SHORT_HOSES,
    SLEEVE,
    TWO_CABLES,
    TWO_ON_THE_RACK,
    TWO_SEALS,
    TWO_SEALS_APART,
    Broken,
)
from tests.small_plan import INSERT, SMALL_PLAN

HANDLE = "mod5/1/handle"


def at(left_mm: float, front_mm: float, points: Leaning = Leaning.BACK) -> OnFloor:
    """Return a place on a floor."""
    return OnFloor(from_left_m=left_mm / 1000, from_front_m=front_mm / 1000, points=points)


# The basket is 260 mm wide and 240 mm deep; the handle takes 80 x 140 mm of it, the pod 90 x 180 mm.
STATED = load(
    piece(
        piece(SMALL_PLAN, "Morning", HANDLE, lies=at(0, 0)),
        "Morning",
        SEAL,
        lies=at(10, 20, Leaning.LEFT),
    ),
    pods={"Morning": at(90, 0, Leaning.RIGHT)},
)

TWO_SEALS_ON_EACH_OTHER = load(
    TWO_SEALS_APART,
    pieces=tuple(
        one.model_copy(update={"stands_in": "B2", "lies": at(10, 20)})
        if one.piece.startswith(SEAL) and one.set == "Noon"
        else one
        for one in TWO_SEALS_APART.loads[0].pieces
    ),
)

BROKEN: list[Broken] = [
    (
        "place in a basket",
        piece(STATED, "Morning", HANDLE, lies=at(200, 0)),
        GOOD,
        "where it is stated to lie it reaches 20 mm beyond the floor",
    ),
    (
        "place in a basket",
        piece(STATED, "Morning", HANDLE, lies=at(0, 120, Leaning.FRONT)),
        GOOD,
        "where it is stated to lie it reaches 20 mm beyond the floor",
    ),
    (
        "place in a basket",
        piece(STATED, "Morning", SEAL, lies=at(10, -2)),
        GOOD,
        "where it is stated to lie it reaches 2 mm beyond the floor",
    ),
    (
        "place in a basket",
        piece(STATED, "Noon", FORCEPS, lies=at(0, 0)),
        GOOD,
        "a place on a floor is stated of it, but it lies on none",
    ),
    (
        "place in a basket",
        load(STATED, pods={"Morning": at(90, 200, Leaning.LEFT)}),
        GOOD,
        "its pod reaches 140 mm beyond the floor of its basket",
    ),
    (
        "place in a basket",
        load(STATED, pods={"Evening": at(0, 0)}),
        GOOD,
        "a place is stated of its pod, but it has none in this load",
    ),
    (
        "side by side",
        load(STATED, pods={"Morning": at(60, 0, Leaning.RIGHT)}),
        GOOD,
        "where it is stated to lie the pod of Morning lies as well, on 2",
    ),
    (
        "side by side",
        TWO_SEALS_ON_EACH_OTHER,
        TWO_SEALS,
        "lies as well, on 108 mm²",
    ),
    (
        "stock of links",
        SMALL_PLAN,
        site(("name: injector nozzle 6 mm\n    stock: 2", "name: injector nozzle 6 mm\n    stock: 1")),
        "2 of nozzle_6 are needed at 12:23, in stock are 1",
    ),
    (
        "stock of caps",
        SMALL_PLAN,
        site(("name: cap for the taper\n    stock: 1", "name: cap for the taper\n    stock: 0")),
        "1 of taper_cap are needed at 12:23, in stock are 0",
    ),
    (
        "stock of pods",
        SMALL_PLAN,
        site(("name: lidded fine basket, stock: 2", "name: lidded fine basket, stock: 1")),
        "2 pods are needed at 12:23, in stock are 1",
    ),
    (
        "stock of nets",
        SMALL_PLAN,
        site(("name: hold-down net, stock: 2", "name: hold-down net, stock: 0")),
        "1 hold-down nets are needed at 12:23, in stock are 0",
    ),
    (
        "stock of holders",
        SMALL_PLAN,
        site(("name: cushioned optic holder, stock: 1", "name: cushioned optic holder, stock: 0")),
        "1 of holder are needed at 12:23, in stock are 0",
    ),
    (
        "placing",
        piece(SMALL_PLAN, "Morning", SEAL, placing=Placing.BASKET, position="B1"),
        GOOD,
        "it goes to basket, its place is pod",
    ),
    ("one cable per place", TWO_ON_THE_RACK, TWO_CABLES, "C1 already holds cable/1/cable of Morning"),
    (
        "basket areas",
        piece(SMALL_PLAN, "Morning", "mod5/1/handle", position="B2"),
        GOOD,
        "it lies in 2 basket areas and has 1",
    ),
    (
        "basket areas",
        SMALL_PLAN,
        site(("{sleeve11: 1, fix5: 1}\n    basket_areas: 1", "{sleeve11: 1, fix5: 1}\n    basket_areas: 2")),
        "its sets need 3 basket areas, the carrier has 2",
    ),
    (
        "basket areas",
        piece(SMALL_PLAN, "Noon", SEAL, stands_in="B1"),
        GOOD,
        "basket area B1 mixes Morning and Noon",
    ),
    (
        "where pods stand",
        piece(SMALL_PLAN, "Noon", SEAL, stands_in=None),
        GOOD,
        "the basket area its pod or holder stands in is not planned",
    ),
    (
        "where pods stand",
        piece(SMALL_PLAN, "Morning", "optic/1/optic", stands_in=None),
        GOOD,
        "the basket area its pod or holder stands in is not planned",
    ),
    (
        "where pods stand",
        piece(SMALL_PLAN, "Morning", "mod5/1/handle", stands_in="B1"),
        GOOD,
        "it stands in B1 and is neither in a pod nor in a holder",
    ),
    (
        "where pods stand",
        TWO_SEALS_APART,
        TWO_SEALS,
        "its pod stands in B2 and in None",
    ),
    (
        "known names",
        piece(SMALL_PLAN, "Noon", SEAL, stands_in="B9"),
        GOOD,
        "carrier Wren has no basket area B9",
    ),
    (
        "room to stand",
        SMALL_PLAN,
        site(
            (
                "y: 270 mm, z: 60 mm}, width: 240 mm",
                "y: 270 mm, z: 60 mm}, width: 80 mm",
            )
        ),
        "no pod that takes it finds room in B2",
    ),
    (
        "room to stand",
        SMALL_PLAN,
        site(("inner_width: 180 mm, inner_depth: 90 mm", "inner_width: 240 mm, inner_depth: 240 mm")),
        "B1 has less floor than the pods and optics that stand there take",
    ),
    ("lean", piece(SMALL_PLAN, "Noon", FORCEPS, leans=None), GOOD, "it is planned upright, its port's support is for"),
    (
        "lean",
        piece(SMALL_PLAN, "Noon", FORCEPS, leans="left"),
        GOOD,
        "it is planned to lean to the left, its port's support is for leaning to the back",
    ),
    (
        "lean",
        piece(SMALL_PLAN, "Noon", SLEEVE, leans="back"),
        GOOD,
        "it is planned to lean to the back, nothing says that it leans so",
    ),
    (
        "own pod",
        piece(SMALL_PLAN, "Noon", SEAL, position="Morning"),
        GOOD,
        "it lies in pod Morning, its set's pod is Noon",
    ),
    (
        "pod room",
        SMALL_PLAN,
        site(("inner_height: 50 mm", "inner_height: 15 mm")),
        "it is 18 mm thick, the pod offers 15 mm",
    ),
    ("coil room", SMALL_PLAN, site(("turns: 10", "turns: 7")), "it is 3000 mm long, 7 turns take 2749.5 mm"),
    ("coil room", SMALL_PLAN, site(("pitch: 8 mm", "pitch: 4 mm")), "it is 5 mm thick, the pitch is 4 mm"),
    (
        "coil bend",
        SMALL_PLAN,
        site(("least_bend_radius: 40 mm", "least_bend_radius: 61 mm")),
        "it bends to 60 mm, least are 61 mm",
    ),
    (
        "optic holder",
        SMALL_PLAN,
        site(("holds_length: 420 mm", "holds_length: 309 mm")),
        "it is 310 mm long, its holder takes 309 mm",
    ),
    (
        "optic holder",
        SMALL_PLAN,
        site(("holds_width: 60 mm", "holds_width: 39 mm")),
        "it is 40 mm thick, its holder takes 39 mm",
    ),
    ("way up", piece(SMALL_PLAN, "Noon", FORCEPS, way_up="distal down"), GOOD, "it is placed distal down"),
    (
        "movable parts",
        piece(SMALL_PLAN, "Noon", FORCEPS, states={Part.JAWS: State.OPEN}),
        GOOD,
        "its ratchet: not planned, prescribed is released",
    ),
    (
        "movable parts",
        piece(SMALL_PLAN, "Noon", SEAL, states={Part.CAP: State.REMOVED}),
        GOOD,
        "its cap: removed, prescribed is nothing",
    ),
    ("net", piece(SMALL_PLAN, "Morning", INSERT.piece, net=False), GOOD, "jets could lift it and no net goes over it"),
    (
        "mass",
        SMALL_PLAN,
        site(("mass_limit: 12 kg", "mass_limit: 0.9 kg")),
        "its pieces weigh 0.94 kg, the carrier bears 0.9 kg",
    ),
    (
        "room at the port",
        SMALL_PLAN,
        site(("reach: 540 mm", "reach: 489 mm")),
        "it takes 490 mm from the port, room is for 489 mm",
    ),
    (
        "room at the port",
        SMALL_PLAN,
        site(("length: 20 mm\n        clearance: 200 mm", "length: 20 mm\n        clearance: 169 mm")),
        "it stands 170 mm high, clear are 169 mm",
    ),
    (
        "arms turn free",
        SMALL_PLAN,
        site(("height: 540 mm", "height: 535 mm")),
        "it comes within 9.4 mm of an arm's sweep, 10 mm are to stay free",
    ),
    (
        "drain angle",
        SMALL_PLAN,
        site(("value: 15 °", "value: 61 °")),
        "lumen shaft falls by 60°, at least 61° are needed",
    ),
    (
        "tipping",
        SMALL_PLAN,
        site(("tipping_reserve: {value: 1.5", "tipping_reserve: {value: 2.5")),
        "behind its support 2.37",
    ),
    ("tipping", SMALL_PLAN, site(("support_at: 200 mm", "support_at: 331 mm")), "it ends before its support at 331 mm"),
    (
        "hoses",
        SMALL_PLAN,
        site(("hose_bend_ratio: {value: 4", "hose_bend_ratio: {value: 7")),
        "the hose bends tighter than 35 mm",
    ),
    ("basket room", SMALL_PLAN, site(("height: 180 mm}\n      B2", "height: 79 mm}\n      B2")), "it is 80 mm thick"),
    (
        "basket room",
        SMALL_PLAN,
        site(("width: 260 mm", "width: 250 mm")),
        "it is 350 mm long, the basket area offers 346.6 mm",
    ),
    (
        "arms turn free",
        SMALL_PLAN,
        site(("height: 540 mm", "height: 450 mm")),
        "it reaches 75.6 mm into an arm's sweep, 10 mm are to stay free",
    ),
    ("hoses", BOTH_LUMENS_APART, SHORT_HOSES, "the hose of 50 mm does not reach 60 mm far"),
]
