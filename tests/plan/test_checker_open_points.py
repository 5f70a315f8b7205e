"""What a missing datum leaves open is no finding and is not hidden either."""

from __future__ import annotations

import pytest

from patency.catalogue import Department, Leaning
from patency.load import Plan
from patency.plan.checker import check_plan, open_points
from tests.plan.breaking import fed, load, piece, site, with_more
from tests.plan.broken_places import STATED, at
from tests.plan.cases import ADAPTED, FORCEPS, GOOD
from tests.small_plan import SMALL_PLAN

OF_TUBE = "            grip: 15 mm\n            side_holes: []\n            "
OF_SEAL = "        mass: 2 g\n        cups: []\n        way_up: lying\n"
OPEN: list[tuple[str, Plan, Department, str]] = [
    (
        "chain length",
        fed(SMALL_PLAN, "Noon", FORCEPS, chain=("extension",)),
        with_more(
            ADAPTED,
            limits=ADAPTED.limits.model_copy(
                update={"load": ADAPTED.limits.load.model_copy(update={"longest_chain": None})}
            ),
        ),
        "the site does not state how many adapters a chain may have",
    ),
    ("sleeve grip", SMALL_PLAN, site(("            grip: 15 mm\n", "")), "how much of its outside a flushing sleeve"),
    (
        "nozzle width",
        SMALL_PLAN,
        site(("    nozzle_share_of_bore: {value: 70 %, source: common practice}\n", "")),
        "how wide an injector nozzle may be",
    ),
    (
        "nozzle depth",
        SMALL_PLAN,
        site(("    nozzle_depth: {value: 20 mm, source: common practice}\n", "")),
        "how deep an injector nozzle stands",
    ),
    (
        "side by side",
        load(STATED, pods={"Morning": at(60, 0, Leaning.RIGHT)}),
        site(("width: 80 mm}]\n", "width: 80 mm}]\n        mesh: {file: handle.stl, unit: mm}\n")),
        "where it is stated to lie the pod of Morning lies as well",
    ),
    ("coil bend", SMALL_PLAN, site(("        least_bend_radius: 40 mm\n", "")), "how tightly it may bend is not known"),
    ("mass", SMALL_PLAN, site(("    mass_limit: 12 kg\n", "")), "what the carrier bears is not known"),
    ("mass", SMALL_PLAN, site(("        mass: 250 g\n", "")), "the mass of 1 pieces is not known"),
    (
        "arms turn free",
        SMALL_PLAN,
        site(("    arm_clearance: {value: 10 mm, source: common practice}\n", "")),
        "the site does not state a distance to arms",
    ),
    (
        "drain angle",
        SMALL_PLAN,
        site(("    drain_angle: {value: 15 °, source: common practice}\n", "")),
        "the site does not state a drain angle",
    ),
    (
        "drain angle",
        SMALL_PLAN,
        site(("        mass: 25 g\n        cups: []\n", "        mass: 25 g\n")),
        "nobody has looked",
    ),
    (
        "drain angle",
        SMALL_PLAN,
        site((f"{OF_TUBE}dead_ends: []", f"{OF_TUBE}dead_ends: [4 mm]")),
        "which way its blind branches look is not known",
    ),
    (
        "drain angle",
        SMALL_PLAN,
        site((f"{OF_TUBE}dead_ends: []\n            ", OF_TUBE)),
        "whether it has blind branches is not known",
    ),
    (
        "arms turn free",
        SMALL_PLAN,
        site((", arm_above: none", "")),
        "whether an arm turns above its level is not known",
    ),
    (
        "strainer",
        SMALL_PLAN,
        site((f"{OF_TUBE}dead_ends: []\n            strainer_upstream: false\n", f"{OF_TUBE}dead_ends: []\n")),
        "whether lumen bore needs a strainer upstream is not known",
    ),
    (
        "side holes",
        SMALL_PLAN,
        site((OF_TUBE, "            grip: 15 mm\n            ")),
        "whether the sleeve covers a side hole is not known",
    ),
    (
        "nozzle depth",
        SMALL_PLAN,
        site(("80 mm\n    side_holes: []\n", "80 mm\n")),
        "whether a side hole of the nozzle is outside the bore is not known",
    ),
    (
        "movable parts",
        SMALL_PLAN,
        site((f"{OF_SEAL}        states: {{}}\n", OF_SEAL)),
        "what has to be done to its movable parts is not known",
    ),
    (
        "net",
        piece(SMALL_PLAN, "Morning", "mod5/1/handle", net=False),
        site(("        needs_net: false\n", "")),
        "whether jets could lift it is not known and no net goes over it",
    ),
    (
        "tipping",
        SMALL_PLAN,
        site(("    tipping_reserve: {value: 1.5, source: common practice}\n", "")),
        "its mass or the site's reserve against tipping is not known",
    ),
    (
        "hoses",
        SMALL_PLAN,
        site(("    hose_bend_ratio: {value: 4, source: common practice}\n", "")),
        "the site states no bend radius of hoses",
    ),
    (
        "fed",
        SMALL_PLAN,
        site(("    least_flow: {value: 50 mL/min, source: no source}\n", "")),
        "nothing is stated that its flow could be held against",
    ),
]


@pytest.mark.parametrize(
    ("rule", "plan", "department", "words"), OPEN, ids=[f"{number} {case[0]}" for number, case in enumerate(OPEN)]
)
def test_what_is_not_known_leaves_one_rule_open_and_breaks_none(
    rule: str, plan: Plan, department: Department, words: str
) -> None:
    assert department.day is not None
    assert [finding.line for finding in check_plan(plan, department, department.day)] == []
    points = open_points(plan, department, department.day)
    # Side holes nobody has looked for leave open what water there is, too.
    also = {"fed"} if "side hole" in words else set()
    assert {point.rule for point in points} == {rule} | also, [point.line for point in points]
    assert all(words in point.sentence for point in points if point.rule == rule)


def test_a_plan_whose_flow_cannot_be_computed_says_so() -> None:
    assert GOOD.day is not None
    points = open_points(load(SMALL_PLAN, carrier="Heron"), GOOD, GOOD.day)
    assert [(point.rule, point.load) for point in points] == [("fed", "L1")]
    assert points[0].sentence.startswith("its flow cannot be computed: ")


def test_a_line_names_the_place_the_fault_and_the_rule() -> None:
    assert GOOD.day is not None
    (finding,) = check_plan(load(SMALL_PLAN, capped_ports=()), GOOD, GOOD.day)
    assert finding.line == (
        "load L1, port T1: it feeds nothing and is neither capped nor listed as open (rule: unused ports)"
    )
    (finding,) = check_plan(SMALL_PLAN.model_copy(update={"site": "Elsewhere"}), GOOD, GOOD.day)
    assert finding.line.startswith("plan: the plan is for Elsewhere")
