"""Two implementations of the geometry, written apart, agree on pieces nobody drew by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from patency.catalogue import PieceType, Port
from patency.plan.checking import on_geometry
from patency.plan.checking.case import Case
from patency.quantities import Answer, worst
from patency.reach import clearance, drainage, hose_bend, inlet_gap_m, standing, tipping
from tests.plan.breaking import find
from tests.plan.cases import FORCEPS, GOOD
from tests.small_plan import SMALL_PLAN

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from patency.catalogue import Department
    from patency.plan.checking.finding import Observation

KEY = ("Morning", FORCEPS)
CARRIER, KIND = GOOD.carriers["Wren"], GOOD.machine_kinds["front_loader"]
LIMITS = GOOD.limits.load
LENGTHS, WIDTHS = st.integers(1, 250), st.integers(1, 90)
CUPS = st.tuples(st.sampled_from(["proximal", "distal", "side"]), WIDTHS, WIDTHS)


def hollow(opens: str, width: int, depth: int) -> dict[str, str]:
    """Return a hollow as the catalogue writes it."""
    return {"name": f"{opens} hollow", "opens": opens, "width": f"{width} mm", "depth": f"{depth} mm"}


@st.composite
def pieces(draw: st.DrawFn) -> PieceType:
    """Draw a forceps with a flush port: one to four bodies, either way up, with hollows or none looked for."""
    bodies = draw(st.lists(st.tuples(LENGTHS, WIDTHS), min_size=1, max_size=4))
    cups = draw(st.none() | st.lists(CUPS, max_size=2))
    old = GOOD.instruments["fix5"].pieces["whole"]
    changed = {
        "outline": [{"form": "block", "length": f"{length} mm", "width": f"{width} mm"} for length, width in bodies],
        "way_up": draw(st.sampled_from(["distal up", "distal down"])),
        "mass": draw(st.none() | st.integers(1, 900).map(lambda mass: f"{mass} g")),
        "cups": None if cups is None else [hollow(*cup) for cup in cups],
    }
    kept = old.model_dump(exclude={"outline", "way_up", "mass_kg", "cups", "lumens"})
    return PieceType.model_validate({**kept, **changed, "lumens": old.lumens})


@st.composite
def ports(draw: st.DrawFn) -> Port:
    """Draw a hose port: any lean, support, hose, clearance and place, with or without a stated reach."""
    old = CARRIER.ports["H2"]
    hose = {
        "bore": "3 mm",
        "length": f"{draw(st.integers(50, 900))} mm",
        "outer": f"{draw(st.integers(4, 20))} mm",
        "end": {"family": "luer", "gender": "male"},
    }
    facts = {
        "kind": "hose",
        "circuit": "hoses",
        "along": "100 mm",
        "level": draw(st.sampled_from(["low", "high"])),
        "at": {axis: f"{draw(st.integers(0, 560))} mm" for axis in "xyz"},
        "end": {"family": "carrier_thread", "gender": "male"},
        "bore": "3 mm",
        "fitting_length": "20 mm",
        "hose": hose,
        "clearance": f"{draw(st.integers(1, 600))} mm",
        "stand": {
            "inclination": f"{draw(st.integers(0, 90))} °",
            "support_at": f"{draw(st.integers(0, 300))} mm",
        },
    }
    reach = draw(st.none() | st.integers(1, 600))
    assert old.hose is not None
    return Port.model_validate(facts | ({} if reach is None else {"reach": f"{reach} mm"}))


def arranged(piece: PieceType, port: Port) -> Department:
    """Return the small department with this piece as its fixed forceps and this port as H2."""
    forceps = GOOD.instruments["fix5"].model_copy(update={"pieces": {"whole": piece}})
    carrier = CARRIER.model_copy(update={"ports": {**CARRIER.ports, "H2": port}})
    return GOOD.model_copy(
        update={
            "instruments": {**GOOD.instruments, "fix5": forceps},
            "carriers": {"Wren": carrier},
        }
    )


def seen(department: Department, *rules: Callable[[Case], Iterable[Observation]]) -> Answer:
    """Return what the rules of the check say of the piece at H2."""
    assert department.day is not None
    case = Case(SMALL_PLAN, department, department.day)
    return worst(one.answer for rule in rules for one in rule(case) if (one.set, one.piece) == KEY)


def test_the_piece_in_question_stands_at_the_port_in_question() -> None:
    assert find(SMALL_PLAN, *KEY)[2].position == "H2"


@settings(max_examples=300)
@given(piece=pieces(), port=ports())
def test_room_arms_tipping_drainage_and_hoses_are_judged_alike(piece: PieceType, port: Port) -> None:
    department = arranged(piece, port)
    stands = standing(port)
    carrier = department.carriers["Wren"]
    assert clearance(piece, stands, carrier, KIND, LIMITS).answer is seen(
        department, on_geometry.room_at_port, on_geometry.out_of_the_arms
    )
    assert tipping(piece, stands, LIMITS).answer is seen(department, on_geometry.does_not_tip)
    assert drainage(piece, stands.inclination_deg, LIMITS, 20.0).answer is seen(department, on_geometry.drains)
    bent = hose_bend(port, [], inlet_gap_m(port, piece, stands), LIMITS)
    assert bent is not None
    assert bent.answer is seen(department, on_geometry.hoses_reach)
