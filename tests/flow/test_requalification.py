"""What to qualify next: the worst lumens, one that stands for each other, and probes where nothing gets less."""

from __future__ import annotations

from functools import cache
from itertools import combinations

from patency.flow import LoadFlow, Requalification, flow_of_load, propose_requalification
from patency.flow.envelope.hardness import harder_points, hardness_of
from patency.flow.envelope.load_envelope import planned_lumens
from patency.flow.envelope.requalification import ProbeMeasure
from patency.load import Load
from tests.demo.larkmere import hand_made_load, larkmere
from tests.small_plan import LOAD, PLAN_OF_TWO, TUBE
from tests.small_site import SMALL_SITE, small_department

LOADS = ("L1", "L3", "D1")


@cache
def watered(load_id: str) -> tuple[Load, LoadFlow]:
    load = hand_made_load(load_id)
    return load, flow_of_load(larkmere(), load)


@cache
def proposals() -> list[Requalification]:
    return propose_requalification(larkmere(), [watered(load_id) for load_id in LOADS])


def lows() -> dict[tuple[str, str, str, str], dict[ProbeMeasure, float]]:
    """Read the lower ends of what every lumen of the loads gets, apart from the code under test."""
    found = {}
    for load_id in LOADS:
        for key, flow in watered(load_id)[1].lumens.items():
            values = {
                ProbeMeasure.FLOW: flow.flow_m3_s.low,
                ProbeMeasure.EXCHANGES: 60.0 * flow.flow_m3_s.low / flow.volume_m3,
                ProbeMeasure.PRESSURE: flow.pressure_pa.low,
            }
            if flow.shear_pa is not None:
                values[ProbeMeasure.SHEAR] = flow.shear_pa.low
            found[load_id, *key] = values
    return found


def test_one_proposal_for_each_carrier_and_programme() -> None:
    named = [(one.carrier, one.programme, one.loads) for one in proposals()]
    assert named == [("Lapwing", "gentle_lumen", ("L1", "L3")), ("Dunlin", "gentle_lumen", ("D1",))]


def test_every_lumen_is_proposed_or_one_stands_for_it_that_is_as_hard_and_gets_no_more() -> None:
    known = lows()
    described = {
        (load_id, *key): hardness_of(lumen.described)
        for load_id in LOADS
        for key, lumen in planned_lumens(larkmere(), *watered(load_id)).items()
    }
    for proposal in proposals():
        chosen = {lumen.place for lumen in proposal.lumens}
        covered = {place for lumen in proposal.lumens for place in lumen.stands_for}
        assert chosen | covered == {place for place in known if place[0] in proposal.loads}
        for lumen in proposal.lumens:
            for place in lumen.stands_for:
                worse, better = known[lumen.place], known[place]
                measures = (worse.keys() & better.keys()) - {ProbeMeasure.PRESSURE}
                assert all(worse[measure] <= better[measure] for measure in measures)
                assert not [*harder_points(described[place], described[lumen.place])]


def test_no_proposed_lumen_stands_for_another_so_none_can_be_left_out() -> None:
    for proposal in proposals():
        for one, other in combinations(proposal.lumens, 2):
            assert other.place not in one.stands_for
            assert one.place not in other.stands_for


def test_a_probe_is_where_nothing_gets_less() -> None:
    known = lows()
    for proposal in proposals():
        assert [probe.measured for probe in proposal.probes] == list(ProbeMeasure)
        for probe in proposal.probes:
            of_group = [
                values[probe.measured]
                for place, values in known.items()
                if place[0] in proposal.loads and probe.measured in values
            ]
            assert probe.low == known[probe.place][probe.measured] == min(of_group)
            load, load_flow = watered(probe.place[0])
            assert load_flow.network.lumens[probe.place[1:]].port == probe.port
            assert probe.stage in load_flow.stages
            assert load.id in proposal.loads


def test_of_lumens_that_stand_for_each_other_one_is_proposed() -> None:
    """The same load twice under two names: every lumen has a twin that gets exactly as much."""
    load, load_flow = watered("L3")
    twin = load.model_copy(update={"id": "twin"})
    (single,) = propose_requalification(larkmere(), [(load, load_flow)])
    (double,) = propose_requalification(larkmere(), [(load, load_flow), (twin, load_flow)])
    assert [lumen.place for lumen in double.lumens] == [lumen.place for lumen in single.lumens]
    assert all(("twin", *lumen.place[1:]) in lumen.stands_for for lumen in double.lumens)


def test_lumens_of_one_type_stand_for_each_other_even_where_their_blind_branches_are_not_described() -> None:
    texts = {name: text.replace("            dead_ends: []\n", "") for name, text in SMALL_SITE.items()}
    assert texts != dict(SMALL_SITE)
    undescribed = small_department(texts)
    (unknown,) = propose_requalification(undescribed, [(LOAD, flow_of_load(undescribed, LOAD))])
    types = [lumen.place[2].split("/")[0] for lumen in unknown.lumens]
    assert len(types) == len(set(types)) == 3


def test_a_lumen_without_a_port_is_named_apart() -> None:
    site = small_department()
    loose = LOAD.model_copy(
        update={
            "pieces": tuple(
                piece.model_copy(update={"lumens": ()}) if piece == TUBE else piece for piece in LOAD.pieces
            )
        }
    )
    (proposal,) = propose_requalification(site, [(loose, flow_of_load(site, loose))])
    assert proposal.not_connected == (("L1", "Morning", "mod5/1/tube", "bore"),)
    assert not [lumen for lumen in proposal.lumens if lumen.place in proposal.not_connected]


def test_where_only_nozzles_are_fed_no_shear_is_to_be_measured() -> None:
    site = small_department()
    noon = PLAN_OF_TWO.loads[1]
    sleeves = noon.model_copy(
        update={"pieces": tuple(piece for piece in noon.pieces if "sleeve11/1/sleeve" in piece.piece)}
    )
    (proposal,) = propose_requalification(site, [(sleeves, flow_of_load(site, sleeves))])
    assert [probe.measured for probe in proposal.probes] == [
        ProbeMeasure.FLOW,
        ProbeMeasure.EXCHANGES,
        ProbeMeasure.PRESSURE,
    ]
    assert [lumen.shear_pa for lumen in proposal.lumens] == [None]
