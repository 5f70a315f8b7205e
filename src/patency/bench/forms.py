"""Forms: what was posted as a typed value, or every fault of it, to be shown with the form again."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from pydantic import BaseModel, ValidationError

if TYPE_CHECKING:
    from collections.abc import Mapping

Model = TypeVar("Model", bound=BaseModel)
_FIELDS_OF_EVERY_FORM = {"csrf", "command", "pin"}


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
