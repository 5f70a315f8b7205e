"""Plans as JSON text: read strictly with every fault at once, and written."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from patency.catalogue import SchemaWalk, faults_of, path_text, schema_of
from patency.errors import InputError, InputErrors
from patency.load.arrangement import Plan

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Path


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
    data = _json(text, file)
    twice = [path_text(path) for path in _twice(data)]
    faults = [InputError(f"{file}: {path}", "the key stands twice", "every key once") for path in twice]
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


class _Object(dict[str, Any]):
    """A JSON object that remembers which keys stood in it more than once."""

    def __init__(self, pairs: list[tuple[str, Any]]) -> None:
        super().__init__(pairs)
        names = [name for name, _ in pairs]
        self.twice = sorted({name for name in names if names.count(name) > 1}) if len(self) < len(names) else []


def _json(text: str, file: str) -> object:
    try:
        return json.loads(text, object_pairs_hook=_Object)
    except json.JSONDecodeError as error:
        raise InputErrors([InputError(f"{file}:{error.lineno}", f"not JSON: {error.msg}", "JSON")]) from None
    except (ValueError, RecursionError):
        fault = InputError(file, "not JSON that can be read: nested too deep or a number too long", "a plan")
        raise InputErrors([fault]) from None


def _twice(data: object, path: Path = ()) -> Iterator[Path]:
    if isinstance(data, _Object):
        yield from ((*path, name) for name in data.twice)
        for name, inner in data.items():
            yield from _twice(inner, (*path, name))
    elif isinstance(data, list):
        for place, inner in enumerate(data):
            yield from _twice(inner, (*path, place))
