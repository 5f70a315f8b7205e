"""Forms: what was posted as a typed value, or every fault of it, to be shown with the form again."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from fastapi import Request  # noqa: TC002 - FastAPI reads the annotation
from pydantic import BaseModel, ValidationError

from patency.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

Model = TypeVar("Model", bound=BaseModel)
_FIELDS_OF_EVERY_FORM = {"csrf", "command", "here", "pin"}
_LARGEST_FORM = 9_000_000


def read_form(model: type[Model], form: Mapping[str, str]) -> tuple[Model | None, dict[str, str]]:
    """Read a form.

    Parameters
    ----------
    model
        What it should say; a field left empty counts as not filled in.
    form
        What was posted.

    Returns
    -------
    tuple[Model | None, dict[str, str]]
        The value and no fault; or None and a fault for each field.
    """
    filled = {name: value for name, value in form.items() if value.strip() and name not in _FIELDS_OF_EVERY_FORM}
    try:
        return model.model_validate(filled), {}
    except ValidationError as fault:
        return None, {str(one["loc"][0]) if one["loc"] else "form": one["msg"] for one in fault.errors()}


def page_of_ours(path: str) -> str:
    """Keep to pages of ours: nobody is sent to another site from here.

    Parameters
    ----------
    path
        Where somebody wants to go on, as a form or an address says.

    Returns
    -------
    str
        The path; empty where it leads elsewhere.
    """
    return path if path.startswith("/") and path[1:2] not in {"/", "\\"} else ""


@dataclass(frozen=True, slots=True)
class Posted:
    """What a form carried: the values of each field, and files."""

    fields: dict[str, list[str]] = field(default_factory=dict)
    files: dict[str, bytes] = field(default_factory=dict)


async def posted(request: Request) -> Posted:
    """Read what was posted.

    Parameters
    ----------
    request
        The request.

    Returns
    -------
    Posted
        Fields and files.

    Raises
    ------
    InputError
        When it is larger than any page of ours sends.
    """
    if request.method != "POST" or "json" in request.headers.get("content-type", ""):
        return Posted()
    length = request.headers.get("content-length", "")
    if not length.isdigit() or int(length) > _LARGEST_FORM:
        raise InputError("what was sent", f"{length or 'unknown'} bytes", "a page of ours; a picture may have 8 MB")
    async with request.form(max_fields=2000, max_files=1) as form:
        fields: dict[str, list[str]] = {}
        files: dict[str, bytes] = {}
        for name, value in form.multi_items():
            if isinstance(value, str):
                fields.setdefault(name, []).append(value)
            elif value.size:
                files[name] = await value.read()
    return Posted(fields, files)
