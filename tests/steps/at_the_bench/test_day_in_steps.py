"""The demo's day, played in steps from the hand-over to the issue; each of its events ends as it should."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from patency.demo import Mishap, Recorder, larkmere_record, sensors_of
from patency.flow import nominal_flow_of_load
from patency.ledger import (
    Direction,
    EndLoad,
    InstrumentSet,
    Kind,
    LoadRecord,
    MoveSet,
    Piece,
    Refused,
    ReleaseLoad,
    Result,
    Seen,
    SetHold,
    SetState,
    Strength,
    Where,
    rebuild,
)
from patency.steps import (
    CycleJudged,
    RecordFiles,
    Wrong,
    all_seen,
    assemble_set,
    begin_load,
    bind_pod,
    count_back,
    count_pieces,
    dismantle_set,
    eye_check_of,
    found_in_box,
    inspect_set,
    issue_set,
    judge_cycle,
    load_sterilizer,
    note_broken,
    note_looked,
    note_off,
    pack_set,
    receive_set,
    show_unloading,
    store_set,
    use_set,
    wash_again,
    ways_on,
)
from patency.steps.at_the_bench.seen_at_unloading import off_at_unloading, rest_of_load
from tests.steps.at_the_bench.bench import Hands, done, refusal

S = SetState
SPRING = "Gallbladder Two/sleeve11/1/valve spring"
FOUR_LOADS = {
    "L1": ("Gallbladder One", "Gallbladder Two"),
    "L2": ("Pelvis One", "Appendix", "Shoulder Scope"),
    "L3": ("Long Colon", "Pelvis Two"),
    "D1": ("Knee Scope", "Little Otter", "Groin Repair"),
}


def judged(hands: Hands, load_id: str, mishap: Mishap) -> CycleJudged:
    """Judge the record of a simulated cycle of a load against the prediction for this very load."""
    department = hands.work.department
    load = hands.work.load(load_id)
    assert not isinstance(load, Refused)
    truly = load
    if mishap is Mishap.TAPER_CAP_FORGOTTEN:
        capped = tuple(one for one in load.capped_ports if one.port != "T1")
        truly = load.model_copy(update={"capped_ports": capped, "open_ports": ("T1",)})
    flow = nominal_flow_of_load(department, truly)
    pressures = {name: stage.circulation_pa.nominal for name, stage in flow.stages.items()}
    rng = np.random.default_rng(20260512)
    sensors = sensors_of(
        department.machine_kinds[load.machine_kind], rng, department.machines[load.machine].sensor_offsets
    )
    recorder = Recorder(machine=load.machine, programme=load.programme)
    record, description = larkmere_record(
        mishap, department.programmes[load.programme], pressures, sensors, rng, recorder=recorder
    )
    files = RecordFiles(record, description, "record.csv", "record.yaml")
    off = [one.port for one in off_at_unloading(hands.work, load_id)]
    waits = [name for name in load.sets if hands.set_now(name).state is S.WASHED]
    rest = rest_of_load(hands.work, load, off, waits, load.ends.date()) if off else None
    return judge_cycle(files, department, load, load.ends.date(), eye_check_of(hands.work, load_id, rest))


def write(hands: Hands, command: ReleaseLoad | EndLoad | MoveSet | SetHold, who: str) -> None:
    outcome = hands.ledger.append(command, hands.around(who))
    assert not isinstance(outcome, Refused), outcome.text


def missed(cycle: CycleJudged) -> list[str]:
    """Name the criteria that the record misses."""
    return [one.name for one in cycle.file.criteria if one.state == "not met"]


def evidence_of(cycle: CycleJudged) -> Result:
    """Stand in for a releaser's evidence; that a baseline of earlier cycles is asked for too is tested elsewhere."""
    return Result(format="patency-evidence/1", verdict="not met" if missed(cycle) else "met")


def to_the_store(hands: Hands, steam: str, names: tuple[str, ...]) -> None:
    """Inspect, assemble, pack, steam and store sets of a released wash load."""
    for name in names:
        for step in (inspect_set, assemble_set, pack_set):
            done(step(hands.work, name, all_seen(hands.set_now(name)), hands.around("assembler-1")))
    done(load_sterilizer(hands.work, steam, ("rack", "North", "wrapped_134"), names, hands.around("assembler-1")))
    hands.at += timedelta(minutes=58)
    write(hands, EndLoad(load=steam, completed=True), "assembler-1")
    met = Result(format="patency-steam-evidence/1", verdict="met")
    write(hands, ReleaseLoad(load=steam, sets=names, evidence=met), "releaser-1")
    for name in names:
        done(store_set(hands.work, name, hands.around("assembler-1")))


@pytest.mark.slow
def test_the_whole_day_with_its_events(hands: Hands) -> None:
    _first_load_with_a_spring_in_the_other_box(hands)
    _cracked_caps(hands)
    _a_hose_that_came_off(hands)
    _a_taper_cap_forgotten(hands)
    _a_loan_without_instructions(hands)
    _suspected_prion_disease(hands)
    _everything_still_holds(hands)


def count_all_back(hands: Hands, load_id: str) -> None:
    taken = done(show_unloading(hands.work, load_id)).taken
    done(count_back(hands.work, load_id, taken, "", hands.around("assembler-1")))


def _first_load_with_a_spring_in_the_other_box(hands: Hands) -> None:
    """13:16, Gallbladder Two: a valve spring is missing at dismantling; it lies in the box of Gallbladder One."""
    for name in FOUR_LOADS["L1"]:
        done(receive_set(hands.work, name, hands.around()))
        done(bind_pod(hands.work, name, f"pod {name}", hands.around()))
    seen = {key: Seen.BY_EYE for key in hands.set_now("Gallbladder Two").pieces if key != SPRING}
    assert SPRING in refusal(dismantle_set(hands.work, "Gallbladder Two", seen, hands.around()))
    counted = done(count_pieces(hands.work, "Gallbladder Two", seen, hands.around()))
    assert counted.state is S.MISSING_PART
    assert counted.search[SPRING][0].set_key == "Gallbladder One"
    assert "missing-part" in refusal(dismantle_set(hands.work, "Gallbladder Two", seen, hands.around()))
    done(found_in_box(hands.work, SPRING, "Gallbladder One", Seen.BY_EYE, hands.around()))
    for name in FOUR_LOADS["L1"]:
        done(dismantle_set(hands.work, name, all_seen(hands.set_now(name)), hands.around()))
    assert hands.load_all("L1").complete
    hands.run("L1")
    hands.looked("L1")
    count_all_back(hands, "L1")
    cycle = judged(hands, "L1", Mishap.NOTHING)
    assert missed(cycle) == []
    write(hands, ReleaseLoad(load="L1", sets=FOUR_LOADS["L1"], evidence=evidence_of(cycle)), "releaser-1")
    to_the_store(hands, "steam-1", FOUR_LOADS["L1"])
    assert all(hands.set_now(name).state is S.STORED for name in FOUR_LOADS["L1"])


def _cracked_caps(hands: Hands) -> None:
    """14:05: two hose caps are cracked, eight are left, and the plan is asked whether it holds."""
    shown = done(note_broken(hands.work, "hose_cap", 2, "cracked", hands.around()))
    left = next(line for line in shown.lines if line.accessory == "hose_cap")
    assert left.usable == 8
    assert not [one for one in shown.shortages if one.accessory == "hose_cap"]


def _a_hose_that_came_off(hands: Hands) -> None:
    """15:14, Dunlin: one hose of Little Otter comes off in the run; the record does not show it, the look does."""
    hands.ready(*FOUR_LOADS["D1"])
    hands.load_all("D1")
    hands.run("D1")
    unseen = judged(hands, "D1", Mishap.HOSE_OFF)
    assert missed(unseen) == []  # the record shows nothing
    assert unseen.evidence.verdict.value != "met"  # but nobody has looked yet
    fine = next(one for one in done(show_unloading(hands.work, "D1")).ports if "3 mm" in one.piece)
    done(note_off(hands.work, "D1", fine.port, hands.around("assembler-1")))
    assert hands.set_now("Little Otter").state is S.REWASH
    assert len(missed(judged(hands, "D1", Mishap.HOSE_OFF))) == 1  # not before all others were looked at
    done(note_looked(hands.work, "D1", hands.around("assembler-1")))
    count_all_back(hands, "D1")
    cycle = judged(hands, "D1", Mishap.HOSE_OFF)
    assert missed(cycle) == []
    evidence = evidence_of(cycle)
    told = refusal(
        hands.ledger.append(
            ReleaseLoad(load="D1", sets=FOUR_LOADS["D1"], evidence=evidence), hands.around("releaser-1")
        )
    )
    assert "set Little Otter: does not wait for load D1" in told
    others = ("Knee Scope", "Groin Repair")
    write(hands, ReleaseLoad(load="D1", sets=others, evidence=evidence), "releaser-1")
    assert hands.set_now("Little Otter").state is S.REWASH
    assert {hands.set_now(name).state for name in others} == {S.WASH_RELEASED}
    went = hands.ledger.trace(Kind.SET, "Little Otter", Direction.FORWARD).items
    assert any(
        "went through wash load D1" in why and "not released from it" in why for item in went for why in item.why
    )


def _a_taper_cap_forgotten(hands: Hands) -> None:
    """18:32, Lapwing: the taper cap is forgotten; within a fixed window, outside the band of this very load."""
    hands.ready(*FOUR_LOADS["L3"])
    hands.load_all("L3")
    ways = done(ways_on(hands.work, "L3", Wrong.CAP_MISSING, "T1"))
    assert any("less" in cost for way in ways.ways for cost in way.costs)
    hands.run("L3")
    hands.looked("L3")
    count_all_back(hands, "L3")
    cycle = judged(hands, "L3", Mishap.TAPER_CAP_FORGOTTEN)
    assert any("pressure" in name for name in missed(cycle))
    told = refusal(
        hands.ledger.append(
            ReleaseLoad(load="L3", sets=FOUR_LOADS["L3"], evidence=evidence_of(cycle)), hands.around("releaser-1")
        )
    )
    assert "evidence is not met" in told
    for name in FOUR_LOADS["L3"]:
        done(wash_again(hands.work, name, "pressure outside the band of this load", hands.around("assembler-1")))
        assert hands.set_now(name).state is S.REWASH


def _a_loan_without_instructions(hands: Hands) -> None:
    """17:30: Visiting Wrist arrives without complete instructions: held, and no plan takes it."""
    arrived = done(receive_set(hands.work, "Visiting Wrist", hands.around()))
    assert "instructions incomplete" in arrived.holds[0].reason
    load = hands.work.plan.loads[0].model_copy(update={"id": "V1", "sets": ("Visiting Wrist",), "pieces": ()})
    plan = hands.work.plan.model_copy(update={"loads": (load,)})
    work = type(hands.work)(hands.ledger, hands.work.department, plan)
    assert "Visiting Wrist: is held by" in refusal(begin_load(work, "V1", hands.around()))
    assert "is held by" in refusal(dismantle_set_with_pod(hands, "Visiting Wrist"))


def dismantle_set_with_pod(hands: Hands, name: str) -> object:
    done(bind_pod(hands.work, name, "pod of the loan", hands.around()))
    return dismantle_set(hands.work, name, all_seen(hands.set_now(name)), hands.around("lead-2"))


def _suspected_prion_disease(hands: Hands) -> None:
    """The next day, 07:10: suspected prion disease after Pelvis One, washed with Appendix, which was used since."""
    hands.ready(*FOUR_LOADS["L2"])
    hands.load_all("L2")
    hands.run("L2")
    hands.looked("L2")
    count_all_back(hands, "L2")
    cycle = judged(hands, "L2", Mishap.NOTHING)
    assert missed(cycle) == []
    write(hands, ReleaseLoad(load="L2", sets=FOUR_LOADS["L2"], evidence=evidence_of(cycle)), "releaser-1")
    to_the_store(hands, "steam-2", FOUR_LOADS["L2"])
    done(issue_set(hands.work, "Appendix", "case-2040", hands.around("assembler-1")))
    done(use_set(hands.work, "Appendix", hands.around("coordinator-1")))
    index = hands.ledger.story("set", "Pelvis One")
    case = [event["what"]["case"] for event in index if event["event"] == "set moved" and event["what"].get("case")][-1]
    reached = {(item.kind, item.key): item for item in hands.ledger.trace(Kind.CASE, case, Direction.FORWARD).items}
    assert {(Kind.SET, "Pelvis One"), (Kind.LOAD, "L2"), (Kind.SET, "Appendix"), (Kind.SET, "Shoulder Scope")} <= {
        *reached
    }
    assert (Kind.CASE, "case-2040") in reached
    assert (Kind.SET, "Long Colon") not in reached
    unmarked = "Pelvis One/sleeve11/1/valve spring"
    assert reached[Kind.PIECE, unmarked].strength <= Strength.MEMBER
    held = SetHold(hold="prion-1", scope=Kind.SET, key="Pelvis One", reason="suspected prion disease of its last case")
    write(hands, held, "coordinator-1")
    told = refusal(issue_set(hands.work, "Pelvis One", "case-0800", hands.around("assembler-1")))
    assert "prion-1" in told


def _everything_still_holds(hands: Hands) -> None:
    assert hands.ledger.verify() == []
    assert rebuild(hands.ledger) == []
    places = [piece.place for piece in hands.ledger.all_of(Piece)]
    inside = {key for one in hands.ledger.all_of(InstrumentSet) for key in one.pieces}
    in_sets = [place for place in places if place.where is Where.SET]
    assert len(in_sets) == len(inside) == sum(len(one.pieces) for one in hands.ledger.all_of(InstrumentSet))
    assert {one.load for one in hands.ledger.all_of(LoadRecord)} >= {*FOUR_LOADS}
    assert datetime(2026, 5, 12, tzinfo=UTC) < hands.at
