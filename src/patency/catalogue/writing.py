"""From a department back to the text of its files."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import yaml

from patency.catalogue.yaml_nodes import core_value

if TYPE_CHECKING:
    from patency.catalogue.commissioning import CommissionedFit
    from patency.catalogue.department import Department
    from patency.catalogue.fields import Described

_FILES = {
    "site.yaml": ("site", "languages", "limits"),
    "connectors.yaml": ("connector_families",),
    "instruments.yaml": ("instruments",),
    "instructions.yaml": ("instructions",),
    "carriers.yaml": ("carriers",),
    "accessories.yaml": ("accessories",),
    "machines.yaml": ("machine_kinds", "machines"),
    "programmes.yaml": ("programmes", "steam_programmes"),
    "sets.yaml": ("sets", "reference_loads"),
    "commissioned.yaml": ("commissioned",),
    "day.yaml": ("day",),
}
_WIDTH = 110


def write_department(department: Department) -> dict[str, str]:
    """Write a department so that reading it gives an equal one.

    Parameters
    ----------
    department
        The department.

    Returns
    -------
    dict[str, str]
        File name to YAML text. What has its default is left out, quantities are written with their units.
    """
    data = department.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    return {
        file: _yaml({key: data[key] for key in keys if key in data})
        for file, keys in _FILES.items()
        if any(key in data for key in keys)
    }


def write_described(described: Described) -> str:
    """Write one description that stands in one text, so that `read_described` gives an equal one.

    Parameters
    ----------
    described
        The description.

    Returns
    -------
    str
        YAML text. What has its default is left out, quantities are written with their units.
    """
    return _yaml(described.model_dump(mode="json", by_alias=True, exclude_defaults=True))


def write_fit(key: str, fit: CommissionedFit) -> str:
    """Write a fit as a file of its department.

    Parameters
    ----------
    key
        Its key under ``commissioned``.
    fit
        The fit.

    Returns
    -------
    str
        YAML text.
    """
    return _yaml({"commissioned": {key: fit.model_dump(mode="json", by_alias=True, exclude_defaults=True)}})


def _yaml(data: dict[str, Any]) -> str:
    return yaml.dump(data, Dumper=_Writer, allow_unicode=True, sort_keys=False, width=_WIDTH, default_flow_style=None)


class _Writer(yaml.SafeDumper):
    """Quotes text that this reader, or one of older YAML, would take for something else; uses no aliases."""

    def ignore_aliases(self, data: Any) -> bool:  # noqa: ANN401, ARG002 - the signature is PyYAML's
        return True


def _text(writer: _Writer, text: str) -> yaml.Node:
    style = None if core_value(text) == text else '"'
    return writer.represent_scalar("tag:yaml.org,2002:str", text, style)


_Writer.add_representer(str, _text)
