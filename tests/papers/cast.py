"""What the tests of the papers are about: the small plan, and a full load of the demo department made by hand."""

from __future__ import annotations

import io
import re
import unicodedata
from datetime import UTC, datetime
from functools import cache
from typing import TYPE_CHECKING

from pypdf import PdfReader

from patency.catalogue import Placing
from patency.papers import LoadSheet, load_sheet
from tests.demo.larkmere import hand_made_load, larkmere
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE, small_department

if TYPE_CHECKING:
    from patency.load import Load


def in_holders(load: Load) -> Load:
    """Put the optics of a load into optic holders, as a plan names them."""
    optics = {"position": "optic_holder"}
    pieces = (
        piece.model_copy(update=optics) if piece.placing is Placing.OPTIC_HOLDER else piece for piece in load.pieces
    )
    return load.model_copy(update={"pieces": tuple(pieces)})


PRINTED = datetime(2026, 5, 12, 12, 0, tzinfo=UTC)
SMALL = small_department(SMALL_SITE)
SMALL_LOAD = SMALL_PLAN.loads[0]
LARKMERE = larkmere()
FULL_LOAD = in_holders(hand_made_load("L2"))
# A name with every sign that means something to a web page or to the typesetter.
HOSTILE = '<b>&"\'#panic("x") *_$`\\ @a [x] // no'


@cache
def small_sheet() -> LoadSheet:
    """Return the sheet of the small load."""
    return load_sheet(SMALL, SMALL_LOAD, "Monday 02 March 2026", ["H1, set A: look here"])


@cache
def full_sheet() -> LoadSheet:
    """Return the sheet of the full load."""
    return load_sheet(LARKMERE, FULL_LOAD, "Tuesday 12 May 2026", ["H3, set A: clip applier"])


def pieces_on_ports(load: Load) -> int:
    """Count the pieces of a load that stand on ports."""
    return sum(piece.placing is Placing.PORT for piece in load.pieces)


def text_of(pdf: bytes) -> str:
    """Read the words of a PDF back, in one line."""
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def greys_only(text: str) -> bool:
    """Tell whether every colour in SVG, style sheet or template source is a grey, and there is at least one."""
    colours = re.findall(r"#([0-9a-fA-F]{6}|[0-9a-fA-F]{3})\b", text)
    thirds = [
        [colour[i : i + len(colour) // 3].lower() for i in range(0, len(colour), len(colour) // 3)]
        for colour in colours
    ]
    named = re.findall(
        r"(?:fill|stroke|color|background):?=?\s*\"?(red|green|blue|yellow|orange|purple|navy|teal)\b", text
    )
    return bool(colours) and not named and all(len(set(parts)) == 1 for parts in thirds)


def squeezed(text: str) -> str:
    """Leave out blanks, apostrophes and quotation marks, and write every micro sign as the typeface does."""
    return re.sub(r"[\s\u00ad\u2019'\u201c\u201d\"]+", "", unicodedata.normalize("NFKC", text))
