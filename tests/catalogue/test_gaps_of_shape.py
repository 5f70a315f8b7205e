"""Every datum of shapes and jets that is left out is listed, and reach finds no other; all of them open ``reached``."""

from __future__ import annotations

import re

import pytest

from patency.catalogue import (
    Cup,
    FlushingSleeve,
    MeshFile,
    Net,
    PieceType,
    Pod,
    jets_described,
    read_with_places,
    unknowns,
    unstated_shapes,
)
from patency.demo import larkmere_texts
from patency.reach import solids_of_load
from tests.demo.larkmere import larkmere
from tests.reach.drawn import drawn_load
from tests.small_site import SMALL_SITE, small_department


def test_the_demo_department_states_every_shape() -> None:
    assert unstated_shapes(larkmere()) == []
    assert jets_described(larkmere())


def test_a_department_that_states_no_shape_is_told_every_one_and_asked_for_none() -> None:
    found = unstated_shapes(small_department())
    assert not jets_described(small_department())
    paths = {one.path for one in found}
    assert {
        "limits.load.struck_share",
        "carriers.Wren.frame",
        "machine_kinds.front_loader.arms.upper.nozzles",
    } <= paths
    assert any(re.fullmatch(r"instruments\.mod5\.pieces\.handle\.outline\[\d\]\.thickness", path) for path in paths)
    assert unknowns(small_department()) == []
    assert all(one.place is None for one in found)
    reading = read_with_places(SMALL_SITE)
    assert all(one.place and ".yaml:" in one.place for one in unstated_shapes(reading.department, reading.root))


@pytest.mark.parametrize(
    ("pattern", "path", "what"),
    [
        (r", opening: \d+°", r"instruments\..*outline\[\d\]\.opening", "how far its "),
        (r"(form: block[^}]*), thickness: [\d.]+ mm", r"instruments\..*thickness", "the thickness of its "),
        (r"(form: ring handle[^}]*), thickness: [\d.]+ mm", r"instruments\..*thickness", "the thickness of the bar"),
        (r"(form: coil[^}]*), thickness: [\d.]+ mm", r"instruments\..*thickness", "the thickness of the wire"),
        (r", turns: 6}\]", r"instruments\..*turns", "the turns of its "),
        (r", end_width: [\d.]+ mm", r"instruments\..*end_width", "the width at the end of its "),
        (r", bars: 8", r"carriers\.\w+\.coil_places\.C\d+\.bars", "the bars of its mandrel"),
        (r", bar_width: 6 mm", r"carriers\.\w+\.coil_places\.C\d+\.bar_width", "the bars of its mandrel"),
    ],
)
def test_a_datum_of_shape_left_out_is_listed_where_it_would_stand_and_leaves_a_piece_unknown(
    pattern: str, path: str, what: str
) -> None:
    texts = {name: re.sub(pattern, _rest, text) for name, text in larkmere_texts().items()}
    reading = read_with_places(texts)
    found = unstated_shapes(reading.department, reading.root)
    assert found
    for one in found:
        assert re.fullmatch(path, one.path)
        assert one.what.startswith(what)
        assert one.questions == ("reached",)
        assert one.place is not None
    _, load = drawn_load()
    gaps = solids_of_load(reading.department, load).gaps
    assert any(gaps.values())
    assert not any(solids_of_load(larkmere(), load).gaps.values())


def _rest(found: re.Match[str]) -> str:
    """Return what a pattern keeps of what it found, closing what it opened."""
    return (found.group(1) if found.re.groups else "") + ("}]" if found.group().endswith("}]") else "")


def test_what_surrounds_pieces_and_the_jets_themselves_are_asked_for_too() -> None:
    site = larkmere()
    carriers = {key: one.model_copy(update={"frame": None}) for key, one in site.carriers.items()}
    kinds = {
        key: kind.model_copy(
            update={
                "arms": {
                    name: arm.model_copy(update={"nozzles": None, "rotation_rpm": None})
                    for name, arm in kind.arms.items()
                }
            }
        )
        for key, kind in site.machine_kinds.items()
    }
    wire = {
        key: part.model_copy(update={"mesh": None}) if isinstance(part, Pod | Net) else part
        for key, part in site.accessories.items()
    }
    bare = site.model_copy(update={"carriers": carriers, "machine_kinds": kinds, "accessories": wire})
    asked = {one.path.rpartition(".")[2] for one in unstated_shapes(bare)}
    assert asked == {"frame", "nozzles", "rotation", "mesh"}
    assert jets_described(bare)  # the site still asks for a least share
    sleeves = {
        key: part.model_copy(update={"outer_m": None}) if isinstance(part, FlushingSleeve) else part
        for key, part in site.accessories.items()
    }
    (path,) = {one.path.rpartition(".")[2] for one in unstated_shapes(site.model_copy(update={"accessories": sleeves}))}
    assert path == "outer"


def test_a_mesh_file_stands_for_the_drawing_and_for_a_hollow_that_opens_to_the_side() -> None:
    site = larkmere()
    sleeve = site.instruments["sleeve11"]
    hollow = Cup.model_validate({"name": "window", "opens": "side", "width": "4 mm", "depth": "2 mm"})
    piece = sleeve.pieces["obturator"].model_copy(update={"cups": [hollow]})

    def shaped(piece: PieceType) -> list[str]:
        pieces = {**sleeve.pieces, "obturator": piece}
        instruments = {**site.instruments, "sleeve11": sleeve.model_copy(update={"pieces": pieces})}
        return [one.path for one in unstated_shapes(site.model_copy(update={"instruments": instruments}))]

    assert shaped(piece) == ["instruments.sleeve11.pieces.obturator.cups[0]"]
    assert shaped(piece.model_copy(update={"mesh": MeshFile(file="shape.stl", unit="mm")})) == []
