"""Labels of sets: a GS1 DataMatrix and the words beside it, and what a scanner reads of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.ledger import InstrumentSet
from patency.papers import data_matrix_svg
from patency.steps.at_the_bench.clean_side import issue_until

if TYPE_CHECKING:
    from datetime import datetime

    from patency.ledger import Ledger

_INTERNAL = "91"
_SYMBOLS = ("]d2", "]Q3", "]C1", "]e0")
_GROUP = "\x1d"


@dataclass(frozen=True, slots=True)
class SetLabel:
    """What stands on the label of a set.

    Parameters
    ----------
    set_key
        Which set.
    content
        What the code holds, as the standard writes it: application identifier in brackets.
    svg
        The code.
    expires
        Until when the set may be issued; None where nothing is packed.
    load
        The load it was in; None where it is in none.
    """

    set_key: str
    content: str
    svg: str
    expires: datetime | None
    load: str | None


def label_of_set(ledger: Ledger, key: str) -> SetLabel:
    """Make the label of a set.

    The key stands under application identifier 91, which GS1 leaves to a company's own use (GS1 General
    Specifications, table of application identifiers), as ``set:KEY`` with ``_`` for each space, which the standard's
    set of signs has not.

    Parameters
    ----------
    ledger
        What happened.
    key
        Which set.

    Returns
    -------
    SetLabel
        Code and words.

    Raises
    ------
    InputError
        When there is no such set, or its key has signs no GS1 code can hold.
    """
    found = ledger.find(InstrumentSet, key)
    if found is None:
        raise InputError(f"set {key}", "is not known", "a set that was enrolled")
    if "_" in key or not key.isascii() or len(key) > 80:
        raise InputError(f"set {key}", "cannot stand in a GS1 code", "at most 80 ASCII signs, no underscore")
    content = f"({_INTERNAL})set:{key.replace(' ', '_')}"
    return SetLabel(key, content, data_matrix_svg(content), issue_until(found), found.load)


def read_label(scanned: str) -> str:
    """Take what a scanner typed of a label for what stands on it.

    Parameters
    ----------
    scanned
        What came, with or without the symbology identifier (ISO/IEC 15424) before it and GS after it.

    Returns
    -------
    str
        ``set:KEY`` of a label of ours; anything else as it came.

    Examples
    --------
    >>> read_label("]d291set:Gallbladder_One"), read_label("GO-MOD5-1")
    ('set:Gallbladder One', 'GO-MOD5-1')
    """
    text = scanned.strip(f"{_GROUP} \r\n\t")
    for symbol in _SYMBOLS:
        text = text.removeprefix(symbol)
    text = text.lstrip(_GROUP).partition(_GROUP)[0]
    if text.startswith(f"{_INTERNAL}set:"):
        return text.removeprefix(_INTERNAL).replace("_", " ")
    return scanned.strip()
