"""The JSON Schema of a department's files, by which an editor completes and checks while somebody types."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic.json_schema import GenerateJsonSchema

from patency.catalogue.department import Department

if TYPE_CHECKING:
    from pydantic import BaseModel

_DRAFT = "https://json-schema.org/draft/2020-12/schema"


class _Untitled(GenerateJsonSchema):
    """Leaves out titles that only repeat the key in other letters."""

    def field_title_should_be_set(self, schema: object) -> bool:  # noqa: ARG002 - the signature is pydantic's
        return False


def schema_of(model: type[BaseModel], title: str) -> dict[str, Any]:
    """Return the JSON Schema of what may be read as a value.

    Parameters
    ----------
    model
        Type of the value.
    title
        What a file of it is called.

    Returns
    -------
    dict[str, Any]
        The schema, draft 2020-12, with the keys as they stand in the file.
    """
    schema = model.model_json_schema(by_alias=True, schema_generator=_Untitled)
    return {"$schema": _DRAFT, **schema, "title": title}


def department_schema() -> dict[str, Any]:
    """Return the schema of one file of a department.

    Returns
    -------
    dict[str, Any]
        The schema. Every key is optional, since a department may be spread over files; which name exists, and what
        one description asks of another, only reading the whole department shows.
    """
    schema = schema_of(Department, "A file of a department")
    del schema["required"]
    return schema
