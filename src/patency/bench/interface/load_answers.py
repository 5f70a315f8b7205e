"""What a program gets of loads: steps, ways, ports, criteria."""

from __future__ import annotations

from patency.bench.interface.answers import Answer, HoldAnswer, Moment
from patency.ledger import LoadKind, LoadState
from patency.steps import StepKind, Wrong


class StepAnswer(Answer):
    """A step of loading."""

    key: str
    kind: StepKind
    set_key: str
    where: list[str]
    name: str
    connect: list[str]
    set_up: list[str]
    lines: list[str]
    sharp: bool
    done: bool


class DeviationAnswer(Answer):
    """What was done otherwise than planned."""

    wrong: str
    chosen: str
    why: str
    person: str
    at: Moment


class LoadLineAnswer(Answer):
    """A load of the plan; `state` is empty before it was begun."""

    load: str
    state: LoadState | None
    done: int
    steps: int


class LoadAnswer(Answer):
    """A load where it stands; `now` is the step in hand."""

    load: str
    state: LoadState | None
    machine: str
    carrier: str
    programme: str
    sets: list[str]
    person: str | None
    now: str | None
    steps: list[StepAnswer]
    deviations: list[DeviationAnswer]


class BeforeStartAnswer(Answer):
    """What is looked at and scanned before a load starts, and what neither sensor nor glance will show of it."""

    carrier: str
    machine: str
    programme: str
    checks: list[str]
    open_ports: list[str]
    seen_by_nobody: list[str]


class PortAnswer(Answer):
    """A port to be looked at when unloading; `first` says why before the others."""

    port: str
    set_key: str
    piece: str
    first: str
    off: bool


class UnloadingAnswer(Answer):
    """A load that came out."""

    load_id: str
    state: LoadState
    question: str
    ports: list[PortAnswer]
    looked: bool
    taken: dict[str, int]
    held: list[str]
    back: list[str]
    packs: list[str]


class WayAnswer(Answer):
    """A permitted way to go on, and what it costs the other lumens."""

    key: str
    words: str
    costs: list[str]
    shorts: int
    needs_lead: bool


class WaysAnswer(Answer):
    """What can be done about something wrong at a port."""

    load_id: str
    wrong: Wrong
    port: str
    ways: list[WayAnswer]
    otherwise: str


class CriterionAnswer(Answer):
    """A criterion in words and people's units; ``not evaluated`` is not passed."""

    name: str
    value: str
    limit: str
    margin: str
    source: str
    state: str
    why: str


class OffAnswer(Answer):
    """What was off when a load came out."""

    port: str
    set_key: str
    piece: str
    person: str


class BackAnswer(Answer):
    """A set that goes back to be washed again when the others are released, and why."""

    set_key: str
    why: str


class DecisionAnswer(Answer):
    """What a releaser has in front of them; who decides is a person. A release lets the sets of `going` go on."""

    load: str
    state: LoadState
    waiting: list[str]
    going: list[str]
    off: list[OffAnswer]
    back: list[BackAnswer]
    verdict: str
    lacks: list[str]
    against: list[HoldAnswer]
    deviations: list[DeviationAnswer]
    criteria: list[CriterionAnswer]
    can_be_released: bool


class SwapPieceAnswer(Answer):
    """A piece that goes out, or a spare that may come in."""

    key: str
    type_key: str
    name: str
    of: str
    mark: str | None


class SwapAnswer(Answer):
    """A piece of a step and the equal spares that nothing holds."""

    piece: SwapPieceAnswer
    spares: list[SwapPieceAnswer]


class WaitingAnswer(Answer):
    """A load that waits for a decision, or still runs, with its sets that wait."""

    load: str
    kind: LoadKind
    machine: str
    state: LoadState
    waiting: list[str]
