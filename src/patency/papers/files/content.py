"""What stands in a load file: everything known about one load, the doubtful first."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.evidence import CriterionState, Sense, beyond_numbers
from patency.papers.codes import qr_svg
from patency.texts import CAUTIONS, people_quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.catalogue import Department
    from patency.evidence import Criterion, Evidence, FixedWindow, SteamEvidence
    from patency.load import Load

_VERDICT_WORDS = {
    CriterionState.MET: "Every criterion was evaluated and is met.",
    CriterionState.NOT_MET: "At least one criterion is not met.",
    CriterionState.NOT_EVALUATED: "Nothing evaluated is missed, but not everything could be evaluated.",
}
_HYPHEN_FOR_MINUS = re.compile(r"(?<![\w-])-(?=\d)")
_WORST_FIRST = (CriterionState.NOT_MET, CriterionState.NOT_EVALUATED, CriterionState.MET)


@dataclass(frozen=True, slots=True)
class CriterionLine:
    """One criterion, as people read it.

    Parameters
    ----------
    kind
        What is asked.
    place
        The stage and the sensor it is asked of; empty where it is asked of all.
    value, limit, margin, source
        In words and in people's units; a dash where there is none.
    state
        ``met``, ``not met`` or ``not evaluated``.
    why
        The reason beyond these numbers; empty where there is none.
    spare
        The margin as a number, by which lines of one kind are put in order; None where there is none.
    """

    kind: str
    place: str
    value: str
    limit: str
    margin: str
    source: str
    state: str
    why: str
    spare: float | None

    @property
    def name(self) -> str:
        """What is asked, and of what."""
        return f"{self.kind} ({self.place})" if self.place else self.kind


@dataclass(frozen=True, slots=True)
class LumenLine:
    """The prediction for one lumen, as people read it.

    Parameters
    ----------
    set, piece, port
        Where it is.
    flow, shear
        With their intervals.
    answer
        Whether it counts as fed: ``yes``, ``no`` or ``unknown``.
    why
        One sentence.
    """

    set: str
    piece: str
    port: str
    flow: str
    shear: str
    answer: str
    why: str


@dataclass(frozen=True, slots=True)
class LoadFile:
    """Everything on the page of one load.

    Parameters
    ----------
    load_id, site, day, carrier, machine, programme, sets
        The head.
    qr_svg
        The load's code.
    verdict, verdict_words
        What the record proves, as a state and as a sentence.
    criteria
        Not met first, then not evaluated, then met.
    plot_svg
        The record over time.
    lumens
        The weakest lumens as predicted.
    comparisons
        What a fixed window on pressure would have said; it decides nothing.
    findings
        What was noticed while reading the record.
    relied_on
        Digest of the record, versions, how the stages were found.
    cautions
        The standing cautions.
    envelope
        How the load stands to what was validated; empty where nobody asked.
    unseen
        Which single faults the sensors could not have shown, and what was looked at instead; empty where nobody asked.
    diagnosed
        What the readings can have been, the most probable first, and what they cannot show; empty where nobody asked.
    """

    load_id: str
    site: str
    day: str
    carrier: str
    machine: str
    programme: str
    sets: tuple[str, ...]
    qr_svg: str
    verdict: str
    verdict_words: str
    criteria: tuple[CriterionLine, ...]
    plot_svg: str
    lumens: tuple[LumenLine, ...]
    comparisons: tuple[str, ...]
    findings: tuple[str, ...]
    relied_on: tuple[str, ...]
    cautions: tuple[str, ...] = CAUTIONS
    envelope: str = ""
    unseen: str = ""
    diagnosed: tuple[str, ...] = ()


def load_file(
    department: Department,
    load: Load,
    evidence: Evidence,
    lumens: Sequence[LumenLine],
    plot_svg: str,
    envelope: str,
    unseen: str = "",
    diagnosed: Sequence[str] = (),
) -> LoadFile:
    """Work out the load file of one load.

    Parameters
    ----------
    department
        The department the load was planned for.
    load
        The load as planned.
    evidence
        What its cycle record proves.
    lumens
        The weakest lumens as predicted, weakest first.
    plot_svg
        The record over time.
    envelope
        How the load stands to what was validated, in one sentence.
    unseen
        Which single faults the sensors could not have shown, and what is looked at instead, in a few sentences.
    diagnosed
        What the readings can have been, the most probable first, and what they cannot show, in a few sentences.

    Returns
    -------
    LoadFile
        All that is to be set on paper or screen.
    """
    ordered = sorted(evidence.criteria, key=lambda criterion: _WORST_FIRST.index(criterion.state))
    return LoadFile(
        load_id=load.id,
        site=department.site,
        day=f"{evidence.on:%Y-%m-%d}",
        carrier=department.carriers[load.carrier].name,
        machine=load.machine,
        programme=f"{evidence.programme}, version {evidence.programme_version}",
        sets=load.sets,
        qr_svg=qr_svg(f"load:{load.id}"),
        verdict=evidence.verdict.value,
        verdict_words=_VERDICT_WORDS[evidence.verdict],
        criteria=tuple(_criterion_line(criterion) for criterion in ordered),
        plot_svg=plot_svg,
        lumens=tuple(lumens),
        comparisons=_comparisons(evidence.fixed_pressure_windows),
        findings=tuple(finding.text for finding in evidence.findings),
        relied_on=_relied_on(evidence),
        envelope=envelope,
        unseen=unseen,
        diagnosed=tuple(diagnosed),
    )


def steam_file(department: Department, name: str, evidence: SteamEvidence, machine: str, plot_svg: str) -> LoadFile:
    """Work out the load file of a cycle of a steam sterilizer.

    Parameters
    ----------
    department
        The department.
    name
        What the load is called.
    evidence
        What its cycle record proves.
    machine
        The machine the record names.
    plot_svg
        The record over time.

    Returns
    -------
    LoadFile
        All that is to be set on paper or screen; F0 stands among what was relied on, as it decides nothing.
    """
    ordered = sorted(evidence.criteria, key=lambda criterion: _WORST_FIRST.index(criterion.state))
    reference = f"at {evidence.f0_reference_c:g} °C, no more than saturation credited; told, it decides nothing"
    lethality = tuple(f"F0 ({sensor}) {value / 60:.1f} min {reference}" for sensor, value in evidence.f0_s.items())
    return LoadFile(
        load_id=name,
        site=department.site,
        day=f"{evidence.on:%Y-%m-%d}",
        carrier="Steam load",
        machine=machine,
        programme=f"{evidence.programme}, version {evidence.programme_version}",
        sets=("not entered",),
        qr_svg=qr_svg(f"load:{name}"),
        verdict=evidence.verdict.value,
        verdict_words=_VERDICT_WORDS[evidence.verdict],
        criteria=tuple(_criterion_line(criterion) for criterion in ordered),
        plot_svg=plot_svg,
        lumens=(),
        comparisons=(),
        findings=tuple(finding.text for finding in evidence.findings),
        relied_on=(
            f"record with SHA-256 {evidence.record_sha256}",
            *lethality,
            f"limits as in force on {evidence.on:%Y-%m-%d}",
        ),
    )


def _relied_on(evidence: Evidence) -> tuple[str, ...]:
    return (
        f"record with SHA-256 {evidence.record_sha256}",
        f"stages found by {evidence.stages_found_by.value}",
        f"limits as in force on {evidence.on:%Y-%m-%d}",
    )


def _criterion_line(criterion: Criterion) -> CriterionLine:
    return CriterionLine(
        kind=criterion.name,
        place=", ".join(words for words in (criterion.stage, criterion.sensor) if words),
        value=_value_words(criterion),
        limit=_limit_words(criterion),
        margin="–" if criterion.margin is None else _quantity(criterion.margin, _difference(criterion.unit)),
        source=criterion.source or "–",
        state=criterion.state.value,
        why=_HYPHEN_FOR_MINUS.sub("−", beyond_numbers(criterion)),
        spare=criterion.margin,
    )


def _value_words(criterion: Criterion) -> str:
    if criterion.value is None:
        return "–"
    value = _quantity(criterion.value, criterion.unit)
    if not criterion.uncertainty:
        return value
    return _joined(value, "±", _quantity(criterion.uncertainty, criterion.unit))


def _limit_words(criterion: Criterion) -> str:
    limit = criterion.limit
    if limit is None:
        return "–"
    if isinstance(limit, tuple):
        low, high = (_quantity(end, criterion.unit) for end in limit)
        return _joined(low, "to", high)
    sign = {Sense.AT_LEAST: "≥ ", Sense.AT_MOST: "≤ "}.get(criterion.sense, "")
    return sign + _quantity(limit, criterion.unit)


def _quantity(value: float, unit: str) -> str:
    """Write a number with its unit, a true minus sign before it where it is negative."""
    return people_quantity(value, unit).replace("-", "−")


def _joined(first: str, word: str, second: str) -> str:
    """Join two quantities of the same unit, which is then said once, at the end."""
    number, _, unit = first.partition(" ")
    same_unit = second.partition(" ")[2] == unit
    return f"{number if same_unit else first} {word} {second}"


def _difference(unit: str) -> str:
    return "K" if unit == "degC" else unit


def _comparisons(windows: Sequence[FixedWindow]) -> tuple[str, ...]:
    """Say what a fixed window would have said: one sentence for each source and answer."""
    said: dict[tuple[str, str], list[str]] = {}
    for window in windows:
        answer = "would not have noticed anything" if window.state is CriterionState.MET else "would have objected"
        value, low, high = (_quantity(end, "Pa") for end in (window.value_pa, window.low_pa, window.high_pa))
        words = f"{window.stage} ({window.sensor}) {value} in {_joined(low, 'to', high)}"
        said.setdefault((window.source, answer), []).append(words)
    return tuple(
        f"It {answer}: {'; '.join(stages)}. Source of the window: {source}."
        for (source, answer), stages in said.items()
    )
