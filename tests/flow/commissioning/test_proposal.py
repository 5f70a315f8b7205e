"""What is proposed: set-ups that can be made, readings that teach, and what each teaches in figures."""

from __future__ import annotations

import pytest

from patency.catalogue import Instruments, Measurements, PumpPoint, read_department, read_described
from patency.errors import InputError
from patency.flow.commissioning.design import Criterion
from patency.flow.commissioning.proposal import Proposal, possible_setups, propose_readings
from tests.catalogue.test_fits import made, site_with
from tests.flow.commissioning.bench_cases import MEASURED
from tests.small_site import small_department

WEAK = [(0, 7.0), (100, 6.9), (150, 6.4)]  # the arms and one hose draw 140 L/min, all ports 170
TOOLS = read_described(Measurements, MEASURED, "bench.yaml").instruments


def proposal(count: int = 8, criterion: Criterion = Criterion.VOLUME, tools: Instruments = TOOLS) -> Proposal:
    """For the carrier of the small department."""
    return propose_readings(
        small_department(), "Wren", "front_loader", tools, ["circulation", "hoses"], count, criterion, 20.0
    )


def test_set_ups_open_all_ports_those_of_a_circuit_single_ones_and_ports_with_an_accessory() -> None:
    setups = possible_setups(small_department(), "Wren", "front_loader", 20.0)
    assert {name: tuple(setup.open) for name, setup in setups.items()} == {
        "all ports open": ("N1", "N2", "H1", "H2", "H3", "T1"),
        "only riser": ("N1", "N2", "T1"),
        "only hoses": ("H1", "H2", "H3"),
        "only N1": ("N1",),
        "only H1": ("H1",),
        "only T1": ("T1",),
        "only N1, with injector nozzle 6 mm": ("N1",),
    }


def test_a_set_up_that_drives_the_pump_beyond_its_curve_is_left_out() -> None:
    department = small_department()
    kind = department.machine_kinds["front_loader"]
    points = [PumpPoint.model_validate({"flow": f"{flow} L/min", "head": f"{head} m"}) for flow, head in WEAK]
    weak = kind.model_copy(update={"pump": kind.pump.model_copy(update={"points": points})})
    setups = possible_setups(
        department.model_copy(update={"machine_kinds": {"front_loader": weak}}), "Wren", "front_loader", 20.0
    )
    assert "only H1" in setups
    assert "all ports open" not in setups


@pytest.mark.parametrize("criterion", Criterion)
def test_each_reading_says_what_it_teaches_and_all_of_them_what_stays_in_doubt(criterion: Criterion) -> None:
    found = proposal(criterion=criterion)
    assert len(found.measurements.readings) == len(found.lessons) == 8
    assert all(lesson.after < lesson.before for lesson in found.lessons)
    assert all(one.value is None for one in found.measurements.readings)
    assert {one.setup for one in found.measurements.readings} == set(found.measurements.setups)
    learned = {one.name: (one.before, one.after) for one in found.learned}
    assert not any(name.startswith("port ") for name in learned)
    assert all(after <= before * (1 + 1e-9) for before, after in learned.values())
    assert learned["injector nozzle 6 mm"][1] < 0.5 * learned["injector nozzle 6 mm"][0]


def test_more_readings_leave_less_in_doubt() -> None:
    few, many = proposal(4), proposal(10)
    assert sum(one.after for one in many.learned) < sum(one.after for one in few.learned)


def test_without_gauge_and_meter_only_buckets_are_proposed() -> None:
    found = proposal(tools=TOOLS.model_copy(update={"gauge": None, "meter": None}))
    assert {one.instrument for one in found.measurements.readings} == {"bucket"}


def test_what_an_earlier_fit_knows_is_not_measured_again() -> None:
    fit = made(factors={"injector nozzle 6 mm": {"factor": 1, "low": 0.999, "high": 1.001}}, covariance=[[2.5e-7]])
    known = propose_readings(
        read_department(site_with(fit)), "Wren", "front_loader", TOOLS, ["circulation"], 8, Criterion.VOLUME, 20.0
    )
    assert not any(one.name == "injector nozzle 6 mm" for one in known.lessons)
    assert any(one.name == "injector nozzle 6 mm" for one in proposal().lessons)


def test_the_tap_of_the_machines_own_sensor_counts_where_its_height_is_stated() -> None:
    found = proposal(40)
    gauges = [one for one in found.measurements.readings if one.instrument == "gauge" and one.at == "circulation"]
    stated = small_department().machine_kinds["front_loader"].sensors["P1"].height_m
    assert gauges
    assert {one.height_m for one in gauges} == {stated}


@pytest.mark.parametrize(
    ("carrier", "kind", "gauge", "says"),
    [
        ("Heron", "front_loader", "circulation", "no carrier 'Heron' (expected: Wren)"),
        ("Wren", "other", "circulation", "no kind of machine 'other' (expected: front_loader)"),
        ("Wren", "front_loader", "attic", "no place 'attic'"),
    ],
)
def test_what_does_not_exist_is_refused_in_one_line(carrier: str, kind: str, gauge: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        propose_readings(small_department(), carrier, kind, TOOLS, [gauge], 4, Criterion.VOLUME, 20.0)
    assert says in refused.value.line
