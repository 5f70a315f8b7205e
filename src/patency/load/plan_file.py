"""Plans as JSON text: read strictly with every fault at once, and written."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from patency.catalogue import SchemaWalk, faults_of, path_text, read_json, schema_of
from patency.errors import InputError, InputErrors
from patency.load.arrangement import Plan


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema of a plan.

    Returns
    -------
    dict[str, Any]
        The schema, draft 2020-12.
    """
    return schema_of(Plan, "A plan")


def read_plan(text: str, file: str = "plan") -> Plan:
    """Read a plan.

    Parameters
    ----------
    text
        JSON in the format ``patency-plan/1``.
    file
        What the text is called in messages.

    Returns
    -------
    Plan
        The plan. Whether its names exist and its rules are kept is another question.

    Raises
    ------
    InputErrors
        With every fault: ``file: loads[0].pieces[3].lumens[0].port: what (expected: …)``.
    """
    _, faults = read_json(text, file)
    try:
        plan = Plan.model_validate_json(text, strict=True)
    except ValidationError as error:
        for found in faults_of(error, SchemaWalk(plan_schema())):
            where = f"{file}: {path_text(found.path)}" if found.path else file
            faults.append(InputError(where, found.what, found.expected))
    if faults:
        raise InputErrors(faults)
    return plan


def write_plan(plan: Plan) -> str:
    """Write a plan so that `read_plan` gives the same.

    Parameters
    ----------
    plan
        The plan.

    Returns
    -------
    str
        JSON, ending with a line feed.
    """
    return plan.model_dump_json(indent=2) + "\n"
