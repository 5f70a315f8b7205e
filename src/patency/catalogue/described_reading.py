"""One YAML text that describes one thing, such as a record beside a machine's measurements."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, TypeVar

from pydantic import BaseModel, ValidationError

from patency.catalogue.faults import faults_of
from patency.catalogue.schema_walk import SchemaWalk
from patency.catalogue.yaml_nodes import read_nodes
from patency.errors import InputError, InputErrors

if TYPE_CHECKING:
    from patency.catalogue.nodes import Node

Whole = TypeVar("Whole", bound=BaseModel)


def read_described(model: type[Whole], text: str, file: str) -> Whole:
    """Read one description that stands in one text.

    Parameters
    ----------
    model
        Type of what is described.
    text
        The YAML text.
    file
        What the text is called in messages, such as its file's name.

    Returns
    -------
    Whole
        The description, checked.

    Raises
    ------
    InputErrors
        With every fault in the order of the lines: ``file:line: path: what (expected: …)``.
    """
    root, faults = read_nodes(file, text)
    if root is None or not isinstance(root.value, dict):
        keys = ", ".join(model.model_fields)
        raise InputErrors(faults or [InputError(f"{file}:1", "no mapping at the top", f"some of the keys {keys}")])
    try:
        # As JSON, because there a day may stand as text while a number or a truth value may not.
        whole = model.model_validate_json(json.dumps(root.plain()), strict=True)
    except ValidationError as error:
        raise InputErrors([*faults, *_placed(error, model, root)]) from None
    if faults:
        raise InputErrors(faults)
    return whole


def _placed(error: ValidationError, model: type[BaseModel], root: Node) -> list[InputError]:
    found = faults_of(error, SchemaWalk(model.model_json_schema(by_alias=True)))
    return [root.fault(finding) for finding in sorted(found, key=lambda finding: root.nearest(finding.path).line)]
