"""Findings: one touch, what to do next, a picture that is nothing but a picture."""

from __future__ import annotations

import hashlib
import io
import re
from typing import TYPE_CHECKING

import pytest
from PIL import Image

from patency.bench.photos import LARGEST_BYTES, keep_photo, read_photo
from patency.errors import InputError, StoreError
from patency.ledger import Kind
from patency.steps import Found, findings_of
from tests.bench.desk import csrf, sign_in

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

    from tests.bench.desk import Desk

NAME = "Knee Scope"
PATH = f"/finding/set/{NAME}"


def picture(kind: str = "JPEG", size: tuple[int, int] = (40, 20)) -> bytes:
    """Draw a picture that carries more than a picture, as a camera's does."""
    drawn = Image.new("RGB", size, "red")
    told = Image.Exif()
    told[0x010E] = "a name that nobody may keep"  # ImageDescription
    file = io.BytesIO()
    drawn.save(file, kind, exif=told)
    return file.getvalue()


def report(client: TestClient, photo: bytes | None = None, **form: str) -> int:
    mark = csrf(client.get(PATH).text)
    files = {"photo": ("Jane Doe.jpg", photo, "image/jpeg")} if photo is not None else None
    number = hashlib.sha256(repr((form, photo)).encode()).hexdigest()
    data = {"csrf": mark, "command": number, **form}
    return client.post(PATH, data=data, files=files, follow_redirects=False).status_code


@pytest.mark.parametrize("found", Found)
def test_each_finding_says_what_to_do_next_and_warns_whoever_opens_the_set(
    client: TestClient, desk: Desk, found: Found
) -> None:
    sign_in(client, "loader-1")
    assert report(client, found=found) == 303
    assert report(client, found=found) == 303  # sent twice, written once
    (finding,) = findings_of(desk.opened.workplace, Kind.SET, NAME)
    assert (finding.found, finding.person) == (found, "loader-1")
    page = client.get(PATH).text
    assert all(line in page.replace("&#39;", "'") for line in finding.what_next)
    assert found in client.get(f"/receiving/{NAME}").text
    held = desk.opened.ledger.holds(Kind.SET, NAME)
    assert bool(held) is (found is Found.BROKEN)


def test_a_picture_is_kept_under_its_digest_without_name_and_without_what_the_camera_wrote(
    client: TestClient, desk: Desk
) -> None:
    sign_in(client, "loader-1")
    assert report(client, picture(), found=Found.SHARP) == 303
    (finding,) = findings_of(desk.opened.workplace, Kind.SET, NAME)
    assert report(client, picture("PNG"), of=str(finding.seq)) == 303
    (finding,) = findings_of(desk.opened.workplace, Kind.SET, NAME)
    assert len(finding.photos) == 2
    photo = finding.photos[0]
    answer = client.get(f"/photo/{photo.sha256}.jpg")
    assert hashlib.sha256(answer.content).hexdigest() == photo.sha256
    assert len(answer.content) == photo.size
    assert answer.headers["content-type"] == photo.kind == "image/jpeg"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert b"nobody may keep" not in answer.content
    assert not Image.open(io.BytesIO(answer.content)).getexif()
    story = str(desk.opened.ledger.story("set", NAME))
    assert photo.sha256 in story
    assert "Jane" not in story


def test_what_is_no_picture_is_refused_and_nothing_is_written(client: TestClient, desk: Desk) -> None:
    sign_in(client, "loader-1")
    assert report(client, b"<svg onload=alert(1)>", found=Found.SHARP) == 422
    assert report(client, b"x" * (LARGEST_BYTES + 2_000_000), found=Found.SHARP) == 400
    assert report(client, found="anything") == 422
    assert report(client, of="1") == 422
    assert report(client, picture(), of="1") == 422
    assert findings_of(desk.opened.workplace, Kind.SET, NAME) == ()
    assert client.get("/finding/person/loader-1").status_code == 404
    assert client.get("/finding/set/Nobody").status_code == 404
    assert client.get("/finding/load/L1").status_code == 200  # planned, not begun
    assert client.get("/photo/../people.sqlite").status_code == 404


def test_a_picture_that_was_altered_is_not_shown(tmp_path: Path) -> None:
    photo = keep_photo(tmp_path, picture())
    name = f"{photo.sha256}.jpg"
    assert read_photo(tmp_path, name) is not None
    (tmp_path / name).write_bytes(picture(size=(41, 20)))
    assert read_photo(tmp_path, name) is None
    assert keep_photo(tmp_path, picture()) == photo  # sent again it is kept again
    assert read_photo(tmp_path, name) is not None
    assert [one.name for one in tmp_path.iterdir()] == [name]
    assert read_photo(tmp_path, "../people.sqlite") is None
    with pytest.raises(InputError, match="at most"):
        keep_photo(tmp_path, b"x" * (LARGEST_BYTES + 1))


def test_a_picture_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "photos").write_bytes(b"")
    with pytest.raises(StoreError, match="photos: File exists"):
        keep_photo(tmp_path / "photos", picture())


def test_the_way_back_leads_to_a_page_of_ours_only(client: TestClient) -> None:
    sign_in(client, "loader-1")
    for back in ("//elsewhere.example", "https://elsewhere.example", "javascript:alert(1)"):
        page = client.get(PATH, params={"back": back}).text
        led_to = re.findall(r'(?:href|action|formaction|src|hx-\w+)="([^"]*)"', page)
        assert led_to
        assert not [to for to in led_to if "elsewhere" in to or "javascript:" in to or to.startswith("//")]
    assert 'href="/loading/L1"' in client.get(PATH, params={"back": "/loading/L1"}).text
