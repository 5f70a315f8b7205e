"""Plans with the wrong programme, machine or time, and plans that claim too much."""

from __future__ import annotations

from tests.plan.breaking import load, moved, site, with_more
from tests.plan.cases import GOOD, QUICK, TWO_CARRIERS, TWO_KINDS, TWO_MACHINES, WIDE_JETS, Broken, at
from tests.small_plan import PLAN_OF_TWO, SMALL_PLAN

BROKEN: list[Broken] = [
    (
        "fed",
        SMALL_PLAN,
        site(("least_shear: {value: 1 Pa", "least_shear: {value: 90 Pa")),
        "wall shear stress at least",
    ),
    ("fed", SMALL_PLAN, site(("least_flow: {value: 50 mL/min", "least_flow: {value: 9 L/min")), "flow at least"),
    ("fed", SMALL_PLAN, WIDE_JETS, "no flow is possible"),
    ("programme offered", load(SMALL_PLAN, programme="quick"), QUICK, "Alpha does not offer the programme quick"),
    (
        "docking",
        load(SMALL_PLAN, carrier="Robin"),
        with_more(TWO_CARRIERS, machines=GOOD.machines),
        "Robin does not dock in Alpha",
    ),
    ("kind of machine", load(SMALL_PLAN, machine_kind="tunnel"), TWO_KINDS, "the load was planned for tunnel"),
    (
        "water for lumens",
        SMALL_PLAN,
        site(("for_lumens: true", "for_lumens: false")),
        "drives no water through the ports",
    ),
    (
        "temperature",
        SMALL_PLAN,
        site(("highest_temperature: 120 °C", "highest_temperature: 99 °C")),
        "cable: drying has 100 °C, for its drying allowed are 99 °C",
    ),
    (
        "temperature",
        SMALL_PLAN,
        site(("least_a0: 3000 s, highest_temperature: 95 °C", "least_a0: 3000 s")),
        "disinfection has 90 °C, for its disinfection no highest temperature is stated",
    ),
    ("pH", SMALL_PLAN, site(("highest_ph: 11.5", "highest_ph: 10.4")), "has pH 10.5, allowed is 6.5 to 10.4"),
    ("pH", SMALL_PLAN, site(("          highest_ph: 11.5\n", "")), "has pH 10.5, allowed is 6.5 to 7"),
    ("pH", SMALL_PLAN, site((", ph: 10.5", "")), "the pH of mild alkaline detergent in cleaning is not known"),
    (
        "agents",
        SMALL_PLAN,
        site(("forbidden_agents: [bleach]", "forbidden_agents: [bleach, Mild Alkaline Detergent]")),
        "mild alkaline detergent in cleaning is forbidden",
    ),
    (
        "agents",
        SMALL_PLAN,
        site(("          forbidden_agents: [bleach]\n", "")),
        "whether mild alkaline detergent is allowed is not stated",
    ),
    (
        "water",
        SMALL_PLAN,
        site(("          water: utility\n          final", "          water: critical\n          final")),
        "first rinse has utility water, it asks for critical water",
    ),
    (
        "water",
        SMALL_PLAN,
        site(("          water: utility\n          final", "          final")),
        "rinse has utility water, what it asks for is not stated",
    ),
    (
        "water",
        SMALL_PLAN,
        site(("temperature: 25 °C, water: utility", "temperature: 25 °C")),
        "rinse has water of unknown quality, it asks for utility water",
    ),
    (
        "final rinse",
        SMALL_PLAN,
        site(("temperature: 90 °C, water: critical", "temperature: 90 °C, water: utility")),
        "disinfection has utility water, it asks for critical water at the end",
    ),
    ("A0", SMALL_PLAN, site(("least_a0: 3000 s", "least_a0: 3001 s")), "A0 of gentle is 3000 s, 3001 s are needed"),
    (
        "A0",
        SMALL_PLAN,
        site(("kind: disinfect, hold: 5 min", "kind: disinfect, hold: 4 min")),
        "A0 of gentle is 2400 s, 3000 s are needed",
    ),
    (
        "drying",
        SMALL_PLAN,
        site(("      - {name: drying, kind: dry, hold: 20 min, temperature: 100 °C}\n", "")),
        "it is to be dried and gentle does not dry",
    ),
    (
        "ready before start",
        moved(SMALL_PLAN, 0, at("12:22")),
        GOOD,
        "it is ready at 12:23, the load starts at 12:22",
    ),
    ("duration", load(SMALL_PLAN, ends=at("13:24")), GOOD, "it lasts 61 min, gentle takes 60 min"),
    (
        "one load per machine",
        load(moved(PLAN_OF_TWO, 1, at("12:44")), 1, carrier="Robin"),
        TWO_CARRIERS,
        "Alpha still runs L1 until 12:45",
    ),
    (
        "carrier is back",
        load(moved(PLAN_OF_TWO, 1, at("12:54")), 1, machine="Beta"),
        TWO_MACHINES,
        "Wren is back from L1 at 12:55",
    ),
    ("shift", moved(PLAN_OF_TWO, 0, at("20:31")), GOOD, "it ends at 21:31, the shift at 21:30"),
    ("shift", SMALL_PLAN, site(("T11:00", "T12:24")), "it starts at 12:23"),
    (
        "washed in time",
        moved(SMALL_PLAN, 0, at("15:01")),
        GOOD,
        "it is due at 16:00, its load ends at 16:01, and the plan does not say so",
    ),
    (
        "bound on loads",
        SMALL_PLAN.model_copy(update={"loads_at_least": 2, "proven_fewest": False}),
        GOOD,
        "at least 2 loads",
    ),
    (
        "bound on loads",
        SMALL_PLAN.model_copy(update={"loads_at_least": 0}),
        GOOD,
        "its 1 loads are proven the fewest and that 0",
    ),
    (
        "bounds",
        SMALL_PLAN.model_copy(update={"bound": {"loads": 2.0}}),
        GOOD,
        "it states 2 as bound on loads and reaches 1",
    ),
    (
        "bounds",
        SMALL_PLAN.model_copy(update={"objective": {}}),
        GOOD,
        "it states a bound on loads and not what it reaches",
    ),
]
