"""Findings for programs: what was found at a set or a load, with pictures; what to do next comes with the answer."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING, Annotated, Any, Literal

from fastapi import APIRouter, Path
from fastapi.responses import Response

from patency.bench.interface.answers import FindingAnswer
from patency.bench.interface.bodies import KeyText, Pictured, Report
from patency.bench.interface.calling import Call, Doing, Reading
from patency.bench.interface.faults import Declined, granted
from patency.bench.photos import keep_photo, read_photo
from patency.ledger import Kind
from patency.steps import add_photo, findings_of, report_finding

if TYPE_CHECKING:
    from patency.steps import Photo

router = APIRouter(tags=["findings"])
_About = Literal[Kind.SET, Kind.LOAD]
_JPEG: dict[int | str, dict[str, Any]] = {200: {"content": {"image/jpeg": {}}, "description": "A picture"}}


def _found(call: Call, about: Kind, key: str) -> list[FindingAnswer]:
    return [FindingAnswer.model_validate(one) for one in findings_of(call.opened.workplace, about, key)]


def _kept(call: Call, photo: bytes) -> Photo:
    return keep_photo(call.opened.folder / "photos", photo)


@router.get("/findings/{about}/{key}", name="finding")
def findings(call: Reading, about: _About, key: KeyText) -> list[FindingAnswer]:
    """What was found at a set or a load, the latest first."""
    if not call.opened.knows(about, key):
        raise Declined.because(HTTPStatus.NOT_FOUND, f"{about} {key}", "is not known", "a set or a load that is there")
    return _found(call, about, key)


@router.post("/findings/{about}/{key}", name="finding.report")
def report(call: Doing, about: _About, key: KeyText, body: Report) -> list[FindingAnswer]:
    """Write down what was found; a set with something broken in it is held."""
    photo = None if body.photo is None else _kept(call, body.photo)
    granted(report_finding(call.opened.workplace, about, key, body.found, photo, call.around()))
    return _found(call, about, key)


@router.post("/findings/{about}/{key}/{finding}/photo", name="finding.report")
def picture(
    call: Doing, about: _About, key: KeyText, finding: Annotated[int, Path(ge=1, le=2**53)], body: Pictured
) -> list[FindingAnswer]:
    """Add a picture to what was found before."""
    granted(add_photo(call.opened.workplace, about, key, finding, _kept(call, body.photo), call.around()))
    return _found(call, about, key)


@router.get("/photos/{sha256}", name="photo", response_class=Response, responses=_JPEG)
def photo(call: Reading, sha256: Annotated[str, Path(pattern="^[0-9a-f]{64}$")]) -> Response:
    """A picture that was kept, if its bytes are still those."""
    kept = read_photo(call.opened.folder / "photos", f"{sha256}.jpg")
    if kept is None:
        raise Declined.because(HTTPStatus.NOT_FOUND, f"picture {sha256}", "is not kept", "a picture of a finding")
    return Response(kept, media_type="image/jpeg")
