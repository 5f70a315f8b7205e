"""Says what the readings of one record can have been; never that all lumens were fed."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from patency.errors import InputError
from patency.evidence import read_stages
from patency.flow import NEVER_SHOWN, Observation, StageReading, Visibility, alarm_of_site, diagnose

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from patency.catalogue import CycleLimits, Department
    from patency.evidence import CycleRecord, LoadMachine, PressurePrediction, StagesRead
    from patency.flow import Baseline, Detectability, Diagnosis, Explanation, Rates
    from patency.load import Load

# An arm stands when it turns at less than this share of the least speed the site allows: a choice of method, far below
# any speed of an arm that turns.
_STANDS_BELOW = 0.25
_NAMED_SINGLY = 6
_BOTH = 2
_NOTHING_FITS = "nothing thought of explains these readings; the probabilities below mean little"
# What the page of a load tells of a ranking: as many explanations, each at least so probable; choices of layout.
_MOST_ON_A_PAGE = 4
_LEAST_ON_A_PAGE = 0.01


@dataclass(frozen=True, slots=True)
class CycleDiagnosed:
    """What came of diagnosing one cycle.

    Parameters
    ----------
    diagnosis
        Explanations with their probabilities, and what can be seen at all.
    left_out
        What of the record could not be used and why, one sentence each.
    arms
        The arms whose own sensor was read.
    """

    diagnosis: Diagnosis
    left_out: tuple[str, ...]
    arms: tuple[str, ...]

    @property
    def looks_as_planned(self) -> bool:
        """Whether the most probable explanation cannot be told from as planned. It is no proof of anything."""
        return self.diagnosis.fits and self.diagnosis.explanations[0].holds_as_planned

    @property
    def data(self) -> dict[str, Any]:
        """The same for programs."""
        return {"format": "patency-diagnosis/1", **asdict(self.diagnosis), "left_out": list(self.left_out)}

    @property
    def on_a_page(self) -> tuple[str, ...]:
        """The same in a few sentences, for the page of a load."""
        found = self.diagnosis
        told = [one for one in found.explanations if one.probability >= _LEAST_ON_A_PAGE][:_MOST_ON_A_PAGE]
        rest = max(1.0 - sum(one.probability for one in told), 0.0)
        unseen: dict[str, int] = {}
        for one in found.detectability:
            if one.visibility is Visibility.UNSEEN:
                unseen[_kind(one.cause)] = unseen.get(_kind(one.cause), 0) + 1
        basis = f"Readings of pressure and flow weighed: {found.readings}, {found.compared}"
        kinds = ", ".join(f"{kind} ({count})" if count > 1 else kind for kind, count in unseen.items())
        ranked = [_explanation(one).strip() for one in told]
        if not found.fits:
            ranked.insert(0, _NOTHING_FITS)
        return (
            *ranked,
            f"{_share(rest)}  all else",
            *([f"Cannot be seen with these sensors: {kinds}."] if kinds else []),
            f"{basis}; how often each fault happens, taken before any reading: {found.assumed}.",
            *(f"Not used: {what}." for what in self.left_out),
            found.never_shown,
        )

    @property
    def lines(self) -> list[str]:
        """The same for people."""
        found = self.diagnosis
        lines = [
            f"load {found.load_id}: readings of pressure and flow weighed: {found.readings}, {found.compared}",
            f"how often each fault happens, taken before any reading: {found.assumed}",
        ]
        if not found.fits:
            lines.append(_NOTHING_FITS)
        lines += [_explanation(one) for one in found.explanations]
        lines.append(f"{_share(found.others):>7}  all that is not listed")
        lines.append(
            "what these sensors can show of every single cause, with false alarms in "
            f"{found.false_alarms * 100:g} % of cycles (each by itself under --json):"
        )
        lines += [f"  {words}" for words in _detectable(found.detectability, self.arms)]
        lines += [f"not computed: {what}" for what in found.not_computed]
        lines += [f"not used: {what}" for what in self.left_out]
        return [*lines, found.never_shown]


def diagnose_record(
    record: CycleRecord,
    department: Department,
    load: Load,
    prediction: PressurePrediction | None,
    machine: LoadMachine,
    on: date,
    baseline: Baseline | None = None,
    rates: Rates | None = None,
) -> CycleDiagnosed:
    """Rank what a record of a load's cycle can have been.

    Parameters
    ----------
    record
        The record.
    department
        The department.
    load
        The load as planned.
    prediction
        What was predicted for it; None where something on the way of the water is not stated.
    machine
        The kind of machine it was planned for.
    on
        The day of the decision, on which limits have to hold.
    baseline
        Earlier cycles of the same load; None to hold readings against what is computed.
    rates
        How often things go wrong; the shipped assumptions where left out.

    Returns
    -------
    CycleDiagnosed
        The diagnosis.

    Raises
    ------
    InputError
        When nothing in the record can be weighed, or the site leaves out what the calculation needs.
    """
    limits = department.limits.cycle
    if prediction is None:
        expected = "every part on the way of the water described: patency site check lists what is not"
        raise InputError(f"load {load.id}", "something on the way of the water is not stated", expected)
    read = read_stages(record, department.programmes[load.programme], limits, prediction, machine, on=on)
    readings = tuple(StageReading(one.stage, one.sensor, one.value) for one in read.water)
    if not readings:
        why = "; ".join(read.left_out) or "it has no pressure or flow of the water's course"
        raise InputError("the record", f"nothing to weigh: {why}", "a pressure or flow in a wet stage")
    standing, unused = _standing(read, limits)
    named = record.description.machine
    if baseline is not None and named != baseline.machine:
        raise InputError("baseline", f"it is of {baseline.machine}", f"one of {named or 'the machine that was used'}")
    if baseline is not None and record.sha256 in baseline.records:
        raise InputError("baseline", "it holds this very record", "one of other cycles")
    alarm = alarm_of_site(limits)
    found = diagnose(department, load, Observation(readings, standing), rates, alarm, baseline)
    return CycleDiagnosed(found, (*read.left_out, *unused), tuple(standing))


def diagnosed_on_a_page(
    record: CycleRecord,
    department: Department,
    load: Load,
    prediction: PressurePrediction | None,
    machine: LoadMachine,
    on: date,
    baseline: Baseline | None = None,
) -> tuple[str, ...]:
    """Say in a few sentences what a record of a load's cycle can have been, or why nobody can rank that.

    Parameters
    ----------
    record
        The record.
    department
        The department.
    load
        The load as planned.
    prediction
        What was predicted for it; None where something on the way of the water is not stated.
    machine
        The kind of machine it was planned for.
    on
        The day of the decision, on which limits have to hold.
    baseline
        Earlier cycles of the same load; None to hold readings against what is computed.

    Returns
    -------
    tuple[str, ...]
        Explanations, what cannot be seen, and last that no reading shows that every lumen was fed.
    """
    try:
        return diagnose_record(record, department, load, prediction, machine, on, baseline).on_a_page
    except InputError as fault:
        return f"Nothing can be ranked: {fault.what} ({fault.where}).", NEVER_SHOWN


def _standing(read: StagesRead, limits: CycleLimits) -> tuple[dict[str, bool], tuple[str, ...]]:
    """Say of each arm with a sensor whether it stood in some stage."""
    least = limits.arm_rotation_least
    if least is None:
        return {}, ("arms: the site states no least speed, so it cannot be told whether one stood",)
    standing: dict[str, bool] = {}
    for one in read.arms:
        standing[one.arm] = standing.get(one.arm, False) or one.speed_rpm < _STANDS_BELOW * least.value
    return standing, ()


def _explanation(one: Explanation) -> str:
    told = _named(one.causes)
    if one.and_also:
        told = f"{told}; and at once {_named(one.and_also)}"
    return f"{_share(one.probability):>7}  {told}"


def _share(probability: float) -> str:
    return f"{probability * 100:.1f} %"


def _named(causes: tuple[str, ...]) -> str:
    """Name causes; of many those of one kind together."""
    if len(causes) == 1:
        return causes[0]
    kinds: dict[str, int] = {}
    for cause in causes:
        kind = _kind(cause)
        kinds[kind] = kinds.get(kind, 0) + 1
    several = (f"{kind} ({count} places)" if count > 1 else kind for kind, count in kinds.items())
    words = list(causes) if len(causes) <= _NAMED_SINGLY else list(several)
    return f"cannot be told apart: {' / '.join(words)}"


def _detectable(causes: tuple[Detectability, ...], arms: tuple[str, ...]) -> Iterator[str]:
    """Say of each kind of cause how many of it can be seen; what can be seen, if only at times, by name."""
    kinds: dict[str, list[Detectability]] = {}
    for one in causes:
        kinds.setdefault(_kind(one.cause), []).append(one)
    for kind, alike in kinds.items():
        for visibility in Visibility:
            such = [one for one in alike if one.visibility is visibility]
            if not such:
                continue
            places = [one.cause.removeprefix(f"{kind}, ") for one in such]
            named = "" if visibility is Visibility.UNSEEN or len(alike) == 1 else f": {', '.join(places)}"
            by_arm = set(places) <= set(arms)
            how = "the arm's own sensor shows it" if by_arm else _noticed(such)
            name = such[0].cause if len(alike) == 1 else kind
            yield f"{name}: {_how_many(len(such), len(alike), visibility)} ({how}){named}"


def _how_many(such: int, alike: int, visibility: Visibility) -> str:
    """Say how many of a kind can be seen so well."""
    if alike == 1:
        return visibility.value
    if visibility is Visibility.UNSEEN:
        told = f"none of {alike} can" if such == alike else f"{such} of {alike} cannot"
        return f"{told} be seen with these sensors"
    verb = "is" if such == 1 else "are"
    which = f"{such} of {alike}"
    if such == alike:
        which = "both" if alike == _BOTH else f"all {alike}"
    return f"{which} {verb} {visibility.removeprefix('is ')}"


def _noticed(causes: Sequence[Detectability]) -> str:
    """Say in how many cycles causes are noticed: one number where the two ends read the same."""
    ends = (min(one.power for one in causes), max(one.power_at_most for one in causes))
    low, high = (f"{share * 100:.0f}" for share in ends)
    return f"noticed in {low if low == high else f'{low} to {high}'} % of cycles"


def _kind(cause: str) -> str:
    return cause.split(", ", maxsplit=1)[0]
