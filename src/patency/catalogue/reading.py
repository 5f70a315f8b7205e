"""From the text of a department's files to the department, with every fault at once."""

from __future__ import annotations

import copy
import json
import re
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from patency.catalogue.department import Department
from patency.catalogue.faults import faults_of
from patency.catalogue.nodes import Finding, Node, path_text
from patency.catalogue.references import broken_references
from patency.catalogue.schema_walk import SchemaWalk
from patency.catalogue.yaml_nodes import read_nodes
from patency.errors import InputError, InputErrors

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue.nodes import Path

# How deep mappings of several files merge: the entries of most keys, under limits those of each group.
_DEPTH = {"limits": 2}
# Stands in for what a department has to have, where that is at fault itself.
_LEAST: dict[str, object] = {"site": "-", "languages": ["en"]}


@dataclass(frozen=True)
class Reading:
    """A department and where each of its values stands.

    Parameters
    ----------
    department
        The department.
    root
        The same as values that know their line.
    """

    department: Department
    root: Node

    def place(self, path: Path) -> str:
        """Say in which file and line a value stands, or the nearest thing around it.

        Parameters
        ----------
        path
            Keys as they stand in the file, from the outermost in.

        Returns
        -------
        str
            Such as ``instruments.yaml:12``.
        """
        return self.root.nearest(path).place


def read_department(texts: Mapping[str, str]) -> Department:
    """Read a department from the text of its files.

    Parameters
    ----------
    texts
        File name to YAML text. Any key of `Department` may be spread over several files.

    Returns
    -------
    Department
        The department, every name in it resolved.

    Raises
    ------
    InputErrors
        With every fault of all files: ``file:line: path: what (expected: …)``.
    """
    return read_with_places(texts).department


def read_with_places(texts: Mapping[str, str]) -> Reading:
    """Read a department and keep where each value stands.

    Parameters
    ----------
    texts
        As for `read_department`.

    Returns
    -------
    Reading
        The department and its places.

    Raises
    ------
    InputErrors
        With every fault of all files.
    """
    read = {file: read_nodes(file, text) for file, text in sorted(texts.items())}
    faults = [fault for _, found in read.values() for fault in found]
    unreadable = any(root is None and found for root, found in read.values())
    whole, found = _merged([root for root, _ in read.values() if root is not None])
    faults += found
    plain = {key: node.plain() for key, node in whole.mapping.items()}
    department, wrong = _validated(plain)
    if unreadable:
        # What the unreadable file may hold is not missing, and names may be found there.
        wrong = [finding for finding in wrong if len(finding.path) > 1]
    else:
        checkable = department or _without_faults(plain, wrong)
        wrong += broken_references(checkable, lambda *path: _names_at(whole, path))
    faults += [whole.fault(finding) for finding in wrong]
    if faults or department is None:
        raise InputErrors(sorted(faults, key=_file_and_line))
    return Reading(department, whole)


def _merged(roots: list[Node]) -> tuple[Node, list[InputError]]:
    """Make one mapping of those of all files."""
    whole: dict[str, Node] = {}
    faults: list[InputError] = []
    for root in roots:
        if isinstance(root.value, dict):
            _merge_into(whole, root.value, (), faults)
        else:
            faults.append(InputError(root.place, "no mapping at the top", "keys such as instruments: or sets:"))
    return Node(whole, roots[0].file if roots else "department", 1), faults


def _merge_into(whole: dict[str, Node], more: dict[str, Node], path: Path, faults: list[InputError]) -> None:
    for key, node in more.items():
        here, first = (*path, key), whole.get(key)
        if first is None:
            whole[key] = node
        elif isinstance(first.value, dict) and isinstance(node.value, dict) and len(path) < _DEPTH.get(str(here[0]), 1):
            both = dict(first.value)
            _merge_into(both, node.value, here, faults)
            whole[key] = replace(first, value=both)
        else:
            where = f"{node.place}: {path_text(here)}"
            faults.append(InputError(where, f"stands a second time, first at {first.place}", "every entry once"))


def _names_at(whole: Node, path: Path) -> set[str]:
    """Return the names described under a key, also those whose description is at fault."""
    node: Node | None = whole
    for key in path:
        node = node.below(key) if node is not None else None
    return set(node.mapping) if node is not None else set()


def _validated(plain: dict[str, object]) -> tuple[Department | None, list[Finding]]:
    # As JSON, because there a day may stand as text while a number or a truth value may not.
    try:
        return Department.model_validate_json(json.dumps(plain), strict=True), []
    except ValidationError as error:
        return None, faults_of(error, department_walk())


@cache
def department_walk() -> SchemaWalk:
    """Return the schema of a department, to be asked what belongs where."""
    return SchemaWalk(Department.model_json_schema(by_alias=True))


def _without_faults(plain: dict[str, object], wrong: list[Finding]) -> Department:
    """Return what is left of the department when as little as possible around each fault is taken out."""
    left = copy.deepcopy(plain)
    cut: set[Path] = set()
    while wrong:
        for finding in wrong:
            path = finding.path
            # Lists stay whole, so that places in them keep their numbers; what is gone already takes what is around it.
            while path and (isinstance(path[-1], int) or path in cut):
                path = path[:-1]
            cut.add(path)
            _take_out(left, path)
        department, wrong = _validated({**_LEAST, **left})
    return Department.model_validate(_LEAST) if department is None else department


def _take_out(left: dict[str, object], path: Path) -> None:
    if not path:
        left.clear()
        return
    inner: Any = left
    for key in path[:-1]:
        try:
            inner = inner[key]
        except (KeyError, TypeError):  # what is around it is gone already
            return
    if isinstance(inner, dict):
        inner.pop(path[-1], None)


def _file_and_line(fault: InputError) -> tuple[str, int]:
    found = re.match(r"(.*?):(\d+)(: |$)", fault.where)
    return (found[1], int(found[2])) if found else (fault.where, 0)
