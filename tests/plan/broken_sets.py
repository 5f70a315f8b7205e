"""Plans that speak of what does not exist, or tear sets apart."""

from __future__ import annotations

from datetime import date

from patency.catalogue import Placing
from patency.load import CappedPort, Connection, LeftOut
from tests.plan.breaking import fed, load, piece, site, without
from tests.plan.cases import FORCEPS, GOOD, N1, NOON_TWICE, ONLY_MORNING, SEAL, Broken
from tests.small_plan import PLAN_OF_TWO, SMALL_PLAN, TAPER, lying

BROKEN: list[Broken] = [
    ("site and day", SMALL_PLAN.model_copy(update={"site": "Elsewhere"}), GOOD, "the plan is for Elsewhere"),
    ("site and day", SMALL_PLAN.model_copy(update={"day": date(2026, 3, 3)}), GOOD, "the plan is for 2026-03-03"),
    ("load names", load(PLAN_OF_TWO, 1, id="L1"), GOOD, "2 loads are called L1"),
    ("known names", load(SMALL_PLAN, carrier="Heron"), GOOD, "the department has no carrier Heron"),
    ("known names", load(SMALL_PLAN, machine="Omega"), GOOD, "the department has no machine Omega"),
    ("known names", load(SMALL_PLAN, machine_kind="tunnel"), GOOD, "the department has no kind of machine tunnel"),
    ("known names", load(SMALL_PLAN, programme="hot"), GOOD, "the department has no programme hot"),
    ("known names", load(SMALL_PLAN, sets=("Morning", "Noon", "Night")), GOOD, "the department has no set Night"),
    (
        "known names",
        load(SMALL_PLAN, capped_ports=(TAPER, CappedPort(port="T9", cap="hose_cap"))),
        GOOD,
        "the department has no port T9",
    ),
    ("known names", load(SMALL_PLAN, open_ports=("T9",)), GOOD, "the department has no port T9"),
    ("known names", load(SMALL_PLAN, capped_ports=(CappedPort(port="T1", cap="cork"),)), GOOD, "no cap cork"),
    ("known names", fed(SMALL_PLAN, "Noon", FORCEPS, chain=("ghost",)), GOOD, "the department has no link ghost"),
    ("known names", fed(SMALL_PLAN, "Noon", FORCEPS, chain=("net",)), GOOD, "the department has no link net"),
    (
        "known names",
        load(
            piece(
                PLAN_OF_TWO,
                "Noon",
                FORCEPS,
                lumens=(Connection(lumen="shaft", port="H3", chain=()), Connection(lumen="soul", port="H1", chain=())),
            ),
            1,
            capped_ports=(N1, CappedPort(port="H2", cap="hose_cap"), TAPER),
        ),
        GOOD,
        "it has no lumen soul",
    ),
    (
        "known names",
        piece(SMALL_PLAN, "Morning", "optic/1/optic", position="net"),
        GOOD,
        "there is no optic holder net",
    ),
    ("known names", piece(SMALL_PLAN, "Morning", "mod5/1/handle", position="B9"), GOOD, "there is no basket B9"),
    ("known names", piece(SMALL_PLAN, "Morning", "cable/1/cable", position="C9"), GOOD, "there is no coil rack C9"),
    (
        "known names",
        SMALL_PLAN.model_copy(update={"left_out": (LeftOut(set="Night", why="never seen"),)}),
        GOOD,
        "the department has no set Night",
    ),
    ("every set once", ONLY_MORNING, GOOD, "it waits and is neither in a load nor left out"),
    (
        "every set once",
        ONLY_MORNING.model_copy(update={"left_out": (LeftOut(set="Noon", why=" "),)}),
        GOOD,
        "it is left out without a reason",
    ),
    (
        "every set once",
        SMALL_PLAN.model_copy(update={"left_out": (LeftOut(set="Noon", why="no room"),)}),
        GOOD,
        "it is in a load and left out as well",
    ),
    (
        "every set once",
        NOON_TWICE,
        GOOD,
        "it is in 2 loads",
    ),
    (
        "waiting sets",
        SMALL_PLAN,
        site(("    - {set: Noon, back_at: 2026-03-02T12:15, washed_by: 2026-03-02T16:00}\n", "")),
        "it does not wait on this day",
    ),
    ("whole sets", without(SMALL_PLAN, "Noon", SEAL), GOOD, "it is not placed"),
    (
        "whole sets",
        load(
            SMALL_PLAN, pieces=(*SMALL_PLAN.loads[0].pieces, lying("Noon", SEAL, Placing.POD, "Noon", stands_in="B2"))
        ),
        GOOD,
        "it is placed 2 times",
    ),
    (
        "whole sets",
        load(
            SMALL_PLAN,
            pieces=(*SMALL_PLAN.loads[0].pieces, lying("Noon", "sleeve11/9/seal", Placing.POD, "Noon", stands_in="B2")),
        ),
        GOOD,
        "sleeve11/9/seal of Noon is not a piece of this set",
    ),
    (
        "whole sets",
        load(
            PLAN_OF_TWO,
            0,
            pieces=(*PLAN_OF_TWO.loads[0].pieces, lying("Noon", SEAL, Placing.POD, "Noon", stands_in="B2")),
        ),
        GOOD,
        "its set is not in this load",
    ),
    (
        "hold",
        SMALL_PLAN,
        site(("  Noon:\n", "  Noon:\n    hold: a piece is missing\n")),
        "it is on hold: a piece is missing",
    ),
    (
        "instructions",
        SMALL_PLAN,
        site(("        approval: {by: [K1, K2], on: 2025-02-01}\n", "")),
        "fix5: no approved instructions are in force on 2026-03-02",
    ),
    (
        "instructions",
        SMALL_PLAN,
        site(("on: 2025-02-01", "on: 2026-03-03")),
        "sleeve11: no approved instructions are in force on 2026-03-02",
    ),
    (
        "instructions",
        SMALL_PLAN,
        site(("language: en", "language: fi")),
        "its instructions in force are in language fi, which is not read here",
    ),
    (
        "instructions",
        SMALL_PLAN,
        site(("        sterilization: {steps: [saturated steam 134 °C 5 min]}\n", "")),
        "its instructions in force say nothing of sterilization",
    ),
]
