"""The file in which a department says how often each thing goes wrong: counted, instead of assumed."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from patency.catalogue import read_described, schema_of
from patency.flow.diagnosis.rates import NO_SOURCE, Rates
from patency.flow.faults.fault import FaultKind

_SINGLES = ("pump_worn", "sieve_clogged", "foam", "sensor_offset", "arm_misread")
Share = Annotated[float, Field(ge=0.0, lt=1.0)]


class FaultRates(BaseModel):
    """Probabilities in one cycle. What is left out keeps the shipped assumption."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, use_attribute_docstrings=True)

    format: Literal["patency-fault-rates/1"]
    source: Annotated[str, StringConstraints(min_length=1, max_length=200, strip_whitespace=True)]
    """Where the numbers come from, such as the count of which cycles."""
    faults: dict[FaultKind, Share] = {}
    """Of each kind of fault, for each place it can be at; 0 for one that cannot happen."""
    pump_worn: Share | None = None
    """That the pump turns or pumps too little."""
    sieve_clogged: Share | None = None
    """That the machine's sieve clogs."""
    foam: Share | None = None
    """Foam or cavitation, for each wet stage."""
    sensor_offset: Share | None = None
    """That a sensor is off by more than its stated uncertainty, for each sensor."""
    arm_misread: Annotated[float, Field(gt=0.0, lt=1.0)] | None = None
    """That an arm's sensor says the arm stands when it turns, or turns when it stands."""


def read_rates(text: str, name: str = "rates") -> Rates:
    """Read how often each thing goes wrong.

    Parameters
    ----------
    text
        The YAML text.
    name
        What the text is called in messages, such as its file's name.

    Returns
    -------
    Rates
        The shipped assumptions with what the file states in their place; the source says which are left.

    Raises
    ------
    InputErrors
        With every fault at once.
    """
    stated = read_described(FaultRates, text, name)
    usual = Rates()
    singles = {key: getattr(stated, key) for key in _SINGLES}
    left = [kind.value for kind in usual.faults if kind not in stated.faults]
    left += [key.replace("_", " ") for key, value in singles.items() if value is None]
    rest = f"; {', '.join(left)}: {NO_SOURCE}" if left else ""
    return replace(
        usual,
        faults={**usual.faults, **stated.faults},
        source=f"{stated.source}{rest}",
        **{key: value for key, value in singles.items() if value is not None},
    )


def rates_schema() -> dict[str, Any]:
    """Return the JSON Schema of ``patency-fault-rates/1``.

    Returns
    -------
    dict
        The schema (draft 2020-12).
    """
    return schema_of(FaultRates, "How often each thing goes wrong")
