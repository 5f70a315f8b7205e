"""Deciding about a load that came out: what its record proves, what stands against it, release or refusal."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.evidence import evidence_document, steam_document
from patency.ledger import (
    InstrumentSet,
    Kind,
    LoadKind,
    LoadRecord,
    LoadState,
    MoveSet,
    Refused,
    ReleaseLoad,
    Result,
    Role,
    SetHold,
    SetState,
)
from patency.steps.at_the_bench.load_progress import Deviation, progress_of
from patency.steps.at_the_bench.machine_tests import machine_tests_of
from patency.steps.at_the_bench.permission import not_permitted
from patency.steps.at_the_bench.seen_at_unloading import Off, eye_check_of, off_at_unloading, rest_of_load
from patency.steps.at_the_bench.steam_checks import steam_checks_of
from patency.steps.at_the_bench.workplace import note
from patency.steps.cycle_judging import CycleJudged, RecordFiles, judge_cycle
from patency.steps.files import read_text
from patency.steps.kept_baselines import baseline_for, read_baselines
from patency.steps.steam_judging import SteamJudged, judge_steam_cycle

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator
    from datetime import date
    from pathlib import Path

    from patency.flow import Baseline
    from patency.ledger import Circumstances, Command, Hold
    from patency.load import Load
    from patency.papers import LoadFile
    from patency.steps.at_the_bench.workplace import Workplace

WAITS = {LoadKind.WASH: SetState.WASHED, LoadKind.STEAM: SetState.STEAM_RUN}
Judged = CycleJudged | SteamJudged
_RELEASERS = frozenset({Role.RELEASER})


@dataclass(frozen=True, slots=True)
class Decision:
    """What a releaser has in front of them.

    Parameters
    ----------
    record
        The load as the ledger has it.
    waiting
        The sets that wait for the decision.
    file
        Every criterion as people read it, not met first; None where there is nothing to read.
    verdict
        ``met``, ``not met`` or ``not evaluated``; the last where there is no record.
    lacks
        What is missing before anything can be decided, one line each.
    against
        What forbids the release whatever the record says: holds.
    deviations
        What was done otherwise than planned while loading.
    incomplete
        Sets that go incomplete, with their overrides.
    evidence
        What a release is based on, as the ledger keeps it; None where there is nothing.
    off
        What was off when it came out.
    back
        Sets that wait and do not go on, because they do not count as fed with it off, each with why.
    """

    record: LoadRecord
    waiting: tuple[str, ...]
    file: LoadFile | None
    verdict: str
    lacks: tuple[str, ...]
    against: tuple[Hold, ...]
    deviations: tuple[Deviation, ...]
    incomplete: tuple[tuple[str, str], ...]
    evidence: Result | None
    off: tuple[Off, ...] = ()
    back: tuple[tuple[str, str], ...] = ()

    @property
    def going(self) -> tuple[str, ...]:
        """The sets that a release lets go on."""
        back = {name for name, _ in self.back}
        return tuple(name for name in self.waiting if name not in back)

    @property
    def can_be_released(self) -> bool:
        """Whether every criterion is met and nothing stands against a release; who decides is a person."""
        return self.verdict == "met" and bool(self.going) and not self.lacks and not self.against


def loads_to_decide(workplace: Workplace) -> list[tuple[LoadRecord, tuple[str, ...]]]:
    """List the loads that ran, or run now, and of which sets wait.

    Parameters
    ----------
    workplace
        Ledger, department, plan.

    Returns
    -------
    list
        Each with the sets that wait; those that came out before those that run.
    """
    found = []
    for record in workplace.ledger.all_of(LoadRecord):
        waiting = _waiting(workplace, record)
        if waiting or record.state is LoadState.STARTED:
            found.append((record, waiting))
    return sorted(found, key=lambda one: (one[0].state is LoadState.STARTED, one[0].ended or 0))


def _waiting(workplace: Workplace, record: LoadRecord) -> tuple[str, ...]:
    sets = (workplace.ledger.find(InstrumentSet, key) for key in record.inside)
    return tuple(
        one.set_key for one in sets if one is not None and one.load == record.load and one.state is WAITS[record.kind]
    )


def show_decision(
    workplace: Workplace, load_id: str, records: Path, on: date, kept: dict[Hashable, Judged] | None = None
) -> Decision | Refused:
    """Show what there is to decide about a load.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    records
        Folder with the records of cycles: ``load-ID.csv`` described by ``load-ID.yaml``; what earlier cycles showed is
        in the folder ``baselines`` beside it.
    on
        The day of the decision, on which limits have to be in date.
    kept
        What was judged before, so that the same record of the same load is not judged twice; filled as it is asked for.

    Returns
    -------
    Decision or Refused
        Every criterion, what is missing, what stands against a release.

    Raises
    ------
    InputErrors
        With every fault of the record.
    """
    record = workplace.ledger.find(LoadRecord, load_id)
    if record is None:
        return Refused.because(f"load {load_id}", "was not begun", "a load that ran")
    files = _record_files(records, load_id)
    kept = {} if kept is None else kept
    if record.kind is LoadKind.STEAM:
        found = _steam_found(workplace, record, files, on, kept)
    else:
        found = _wash_found(workplace, record, files, records, on, kept)
    lacks = []
    if record.state is not LoadState.ENDED:
        lacks.append(f"load {load_id} is {record.state}: nothing is decided before it came out complete")
    if files is None:
        lacks.append(f"there is no record of the cycle (load-{load_id}.csv with load-{load_id}.yaml)")
    return _decision(workplace, record, found, (*lacks, *found.lacks))


@dataclass(frozen=True, slots=True)
class _Found:
    """What was found out about a load."""

    judged: Judged | None = None
    lacks: tuple[str, ...] = ()
    deviations: tuple[Deviation, ...] = ()
    off: tuple[Off, ...] = ()
    back: tuple[tuple[str, str], ...] = ()


def _steam_found(
    workplace: Workplace, record: LoadRecord, files: RecordFiles | None, on: date, kept: dict[Hashable, Judged]
) -> _Found:
    if files is None:
        return _Found()
    checks, tests = steam_checks_of(workplace, record), machine_tests_of(workplace, record)
    key: Hashable = (record.load, record.programme, files, on, checks, tests.known)
    if key not in kept:
        judge = partial(judge_steam_cycle, name=record.load, checks=checks, interlock=tests, zone=tests.zone)
        kept[key] = judge(files, workplace.department, record.programme, on)
    return _Found(kept[key], _of_another_machine(kept[key], record))


def _wash_found(
    workplace: Workplace,
    record: LoadRecord,
    files: RecordFiles | None,
    records: Path,
    on: date,
    kept: dict[Hashable, Judged],
) -> _Found:
    planned = workplace.load(record.load)
    if isinstance(planned, Refused):
        return _Found(lacks=(f"load {record.load} is in no plan of today: nothing was predicted for it",))
    progress, off = progress_of(workplace, planned), off_at_unloading(workplace, record.load)
    ports, waiting = [one.port for one in off], _waiting(workplace, record)
    rest = rest_of_load(workplace, progress.load, ports, waiting, on) if off and waiting else None
    found = _Found(deviations=progress.deviations, off=off, back=rest.back if rest else ())
    if files is None:
        return found
    seen, tests = eye_check_of(workplace, record.load, rest), machine_tests_of(workplace, record)
    baseline = _baseline(records, progress.load)
    told = baseline.records if baseline else ()
    key = (progress.load.model_dump_json(), files, on, seen, told, tests.known)
    if key not in kept:
        kept[key] = judge_cycle(
            files, workplace.department, progress.load, on, seen, interlock=tests, baseline=baseline
        )
    return replace(found, judged=kept[key])


def _decision(workplace: Workplace, record: LoadRecord, found: _Found, lacks: tuple[str, ...]) -> Decision:
    ledger, waiting, judged = workplace.ledger, _waiting(workplace, record), found.judged
    if not waiting and not lacks:
        lacks = ("no set waits for a decision about this load",)
    sets = [one for key in waiting if (one := ledger.find(InstrumentSet, key)) is not None]
    decision = Decision(
        record=record,
        waiting=waiting,
        file=judged.file if judged else None,
        verdict=judged.evidence.verdict.value if judged else "not evaluated",
        lacks=lacks,
        against=(),
        deviations=found.deviations,
        incomplete=tuple((one.set_key, one.incomplete) for one in sets if one.incomplete),
        evidence=_as_result(judged) if judged else None,
        off=found.off,
        back=found.back,
    )
    holds = [*ledger.holds(Kind.LOAD, record.load), *ledger.holds(Kind.MACHINE, record.machine)]
    holds += [hold for key in decision.going for hold in ledger.holds(Kind.SET, key)]
    return replace(decision, against=tuple({hold.hold: hold for hold in holds}.values()))


def _of_another_machine(judged: Judged, record: LoadRecord) -> tuple[str, ...]:
    """Say so where the record is not of the sterilizer the load ran in; of a washer the verdict itself asks this."""
    named = judged.evidence.machine
    if named == record.machine:
        return ()
    told = "names no machine" if named is None else f"is of {named}"
    return (f"the record of the cycle {told}, load {record.load} ran in {record.machine}",)


def _as_result(judged: Judged) -> Result:
    if isinstance(judged, SteamJudged):
        document = steam_document(judged.evidence)
    else:
        document = evidence_document(judged.evidence)
    return Result(format=document["format"], verdict=judged.evidence.verdict.value, data=document)


def _baseline(records: Path, load: Load) -> Baseline | None:
    """Find what earlier cycles of the same load showed, in the folder ``baselines`` beside the records."""
    return baseline_for(load, read_baselines(sorted((records.parent / "baselines").glob("*.json"))))


def _record_files(folder: Path, load_id: str) -> RecordFiles | None:
    name = f"load-{load_id}"
    record, description = folder / f"{name}.csv", folder / f"{name}.yaml"
    # A key of a load is free text and might lead out of the folder.
    inside = record.parent == folder and "/" not in load_id and "\\" not in load_id
    if not inside or not record.is_file() or not description.is_file():
        return None
    return RecordFiles(read_text(record), read_text(description), record.name, description.name)


def release_load(workplace: Workplace, decision: Decision, around: Circumstances) -> Refused | None:
    """Release the sets of a load that go on, on the evidence that was shown: the decision of the person who asks.

    Sets that do not count as fed, because something of the load was off, go back to be washed again with it.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    decision
        What was shown.
    around
        Who decides, when, where, under which key.

    Returns
    -------
    Refused or None
        Why not; None where it is written down.
    """
    where = f"load {decision.record.load}"
    if workplace.did(around):
        return None
    if decision.lacks or decision.evidence is None:
        return Refused.because(where, "; ".join(decision.lacks) or "nothing was judged", "evidence of a load that ran")
    if not decision.going:
        return Refused.because(where, "has no set that may go on", "a set that was fed")
    release = ReleaseLoad(load=decision.record.load, sets=decision.going, evidence=decision.evidence)
    return workplace.write(around, [release, *_sent_back(decision)])


def _sent_back(decision: Decision) -> Iterator[MoveSet]:
    off = ", ".join(one.port for one in decision.off)
    for name, why in decision.back:
        yield MoveSet(
            set_key=name, to=SetState.REWASH, why=f"off at {off} of load {decision.record.load}: {why}"[:1000]
        )


def refuse_load(workplace: Workplace, load_id: str, why: str, around: Circumstances, *, ask: str) -> Refused | None:
    """Refuse the release of a load and say what follows.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    why
        The reason.
    around
        Who decides, when, where, under which key.
    ask
        What follows: ``wash again`` sends every set that waits back; ``ask the engineer`` holds the load.

    Returns
    -------
    Refused or None
        Why nothing was written; None where it was.

    Raises
    ------
    InputError
        When nobody knows what is to follow.
    """
    record = workplace.ledger.find(LoadRecord, load_id)
    if record is None or not why.strip():
        return Refused.because(f"load {load_id}", "has no reason or is not known", "a load that ran, and why")
    if workplace.did(around):
        return None
    waiting = _waiting(workplace, record)
    follows: list[Command]
    if ask == "wash again":
        follows = [MoveSet(set_key=key, to=SetState.REWASH, why=f"release refused: {why}"[:1000]) for key in waiting]
    elif ask == "ask the engineer":
        key = f"hold {around.command}"[:120]
        follows = [SetHold(hold=key, scope=Kind.LOAD, key=load_id, reason=f"release refused: {why}"[:1000])]
    else:
        raise InputError("what follows", repr(ask), "'wash again' or 'ask the engineer'")
    kept = note(Kind.LOAD, load_id, "release-refused", "not met", why=why, follows=ask, sets=list(waiting))
    return not_permitted(workplace, around, _RELEASERS) or workplace.write(around, [kept, *follows])
