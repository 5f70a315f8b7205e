"""Sets, loads and decisions as answers: what steps gave, under the names programs read."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING, Any

from patency.bench.interface.answers import HoldAnswer, SetAnswer
from patency.bench.interface.faults import granted
from patency.bench.interface.load_answers import (
    BackAnswer,
    CriterionAnswer,
    DecisionAnswer,
    DeviationAnswer,
    LoadAnswer,
    OffAnswer,
    StepAnswer,
)
from patency.ledger import Kind, LoadRecord
from patency.steps import show_decision, show_loading

if TYPE_CHECKING:
    from patency.bench.interface.calling import Call
    from patency.ledger import InstrumentSet
    from patency.steps import Decision, LoadStep

DRAWING: dict[int | str, dict[str, Any]] = {200: {"content": {"image/svg+xml": {}}, "description": "A drawing"}}
"""What the description of a route says that answers with a drawing."""


def set_answer(call: Call, key: str) -> SetAnswer:
    """Show a set as it is now.

    Parameters
    ----------
    call
        Who asks.
    key
        The set.

    Returns
    -------
    SetAnswer
        Where it stands, and what holds it.
    """
    work = call.opened.workplace
    found: InstrumentSet = granted(work.set_of(key), HTTPStatus.NOT_FOUND)
    return SetAnswer(
        set_key=found.set_key,
        set_type=found.set_type,
        state=found.state,
        load=found.load,
        case=found.case,
        expires=found.expires,
        incomplete=found.incomplete,
        holds=[HoldAnswer.model_validate(one) for one in work.ledger.holds(Kind.SET, key)],
    )


def load_answer(call: Call, load_id: str) -> LoadAnswer:
    """Show a load of the plan where it stands.

    Parameters
    ----------
    call
        Who asks.
    load_id
        The load.

    Returns
    -------
    LoadAnswer
        Its steps and what of them is confirmed.
    """
    work = call.opened.workplace
    shown, record = granted(show_loading(work, load_id), HTTPStatus.NOT_FOUND), work.ledger.find(LoadRecord, load_id)
    return LoadAnswer(
        load=load_id,
        state=record.state if record else None,
        machine=shown.load.machine,
        carrier=shown.load.carrier,
        programme=shown.load.programme,
        sets=list(shown.load.sets),
        person=shown.person,
        now=shown.now.key if shown.now else None,
        steps=[_step(one, done=one.key in shown.done) for one in shown.steps],
        deviations=[DeviationAnswer.model_validate(one) for one in shown.deviations],
    )


def _step(one: LoadStep, *, done: bool) -> StepAnswer:
    return StepAnswer(
        key=one.key,
        kind=one.kind,
        set_key=one.set_key,
        where=list(one.where),
        name=one.name,
        connect=list(one.connect),
        set_up=list(one.set_up),
        lines=list(one.lines),
        sharp=one.sharp,
        done=done,
    )


def decision_on(call: Call, load_id: str) -> Decision:
    """Find what there is to decide about a load.

    Parameters
    ----------
    call
        Who asks.
    load_id
        The load.

    Returns
    -------
    Decision
        As the release page shows it.
    """
    opened = call.opened
    records = opened.folder / "records"
    return granted(
        show_decision(opened.workplace, load_id, records, call.now.date(), opened.judged), HTTPStatus.NOT_FOUND
    )


def decision_answer(decision: Decision) -> DecisionAnswer:
    """Show what there is to decide.

    Parameters
    ----------
    decision
        What the step gave.

    Returns
    -------
    DecisionAnswer
        Every criterion, those that are not met and not evaluated too.
    """
    criteria = decision.file.criteria if decision.file else ()
    return DecisionAnswer(
        load=decision.record.load,
        state=decision.record.state,
        waiting=list(decision.waiting),
        going=list(decision.going),
        off=[OffAnswer.model_validate(one) for one in decision.off],
        back=[BackAnswer(set_key=name, why=why) for name, why in decision.back],
        verdict=decision.verdict,
        lacks=list(decision.lacks),
        against=[HoldAnswer.model_validate(one) for one in decision.against],
        deviations=[DeviationAnswer.model_validate(one) for one in decision.deviations],
        criteria=[CriterionAnswer.model_validate(one) for one in criteria],
        can_be_released=decision.can_be_released,
    )
