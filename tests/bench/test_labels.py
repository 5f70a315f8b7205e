"""Labels are made as GS1 DataMatrix and read back by another reader than the one that types."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from patency.errors import InputError
from patency.steps import Scanned, label_of_set, read_label, read_scan
from tests.bench.desk import Desk, csrf, sign_in

if TYPE_CHECKING:
    from starlette.testclient import TestClient


def test_every_label_is_read_back_as_its_set(desk: Desk) -> None:
    import zxingcpp

    workplace = desk.opened.workplace
    for key in desk.opened.department.sets:
        label = label_of_set(workplace.ledger, key)
        symbol = zxingcpp.create_barcode(label.content, zxingcpp.BarcodeFormat.DataMatrix, gs1=True, forceSquare=True)
        assert symbol.to_svg() in label.svg
        (read,) = zxingcpp.read_barcodes(symbol.to_image(scale=4))
        assert read.symbology_identifier == "]d2"
        typed = read.symbology_identifier + read.bytes.decode()
        assert read_scan(workplace, read_label(typed)) == Scanned("set", key)


def test_the_symbol_is_square_as_every_scanner_reads_it(desk: Desk) -> None:
    import re

    svg = label_of_set(desk.opened.ledger, "Gallbladder One").svg
    width, height = re.findall(r'(?:width|height)="(\d+)"', svg)[:2]
    assert width == height


@pytest.mark.parametrize(
    ("typed", "means"),
    [
        ("]d291set:Knee_Scope", "set:Knee Scope"),
        ("]d2\x1d91set:Knee_Scope\x1d10LOT", "set:Knee Scope"),
        ("91set:Knee_Scope\r", "set:Knee Scope"),
        ("KS-SHAVER-1-HANDPIECE", "KS-SHAVER-1-HANDPIECE"),
        ("]d20109506000134352", "]d20109506000134352"),
    ],
)
def test_what_a_scanner_types_of_a_label_is_taken_for_what_stands_on_it(typed: str, means: str) -> None:
    assert read_label(typed) == means


def test_a_set_there_is_not_has_no_label(desk: Desk) -> None:
    with pytest.raises(InputError, match="set Nowhere: is not known"):
        label_of_set(desk.opened.ledger, "Nowhere")


def test_a_scanned_label_opens_the_page_of_its_set(client: TestClient) -> None:
    sign_in(client, "loader-1")
    assert client.get("/set/Knee Scope/label").status_code == 200
    form = {"csrf": csrf(client.get("/").text), "code": "]d291set:Knee_Scope"}
    assert client.post("/find", data=form).url.path == "/set/Knee Scope"
