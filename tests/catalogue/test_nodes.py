"""Values that know their line, and paths as people read them."""

from __future__ import annotations

import pytest

from patency.catalogue.nodes import Finding, Node, Path, path_text

TREE = Node({"sets": Node({"A": Node([Node("x", "a.yaml", 4)], "a.yaml", 3)}, "a.yaml", 2)}, "a.yaml", 1)


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ((), ""),
        (("sets", "Gallbladder One", "contents"), "sets.Gallbladder One.contents"),
        (("a", 0, "b", 12), "a[0].b[12]"),
        (("sets", "a.b"), "sets['a.b']"),
        (("sets", ""), "sets['']"),
        (("sets", "x\ny"), "sets['x\\ny']"),
        (("[0]", "b"), "['[0]'].b"),
    ],
)
def test_a_path_reads_like_the_file(path: Path, text: str) -> None:
    assert path_text(path) == text


def test_a_path_that_leads_nowhere_ends_at_what_is_around_it() -> None:
    assert TREE.nearest(("sets", "A", 0)).line == 4
    assert TREE.nearest(("sets", "A", 7, "more")).line == 3
    assert TREE.nearest(("sets", "B")).line == 2
    assert TREE.nearest(("sets", 0)).line == 2
    assert TREE.nearest(("A",)).line == 1


def test_a_finding_gets_its_file_and_line() -> None:
    assert (
        TREE.fault(Finding(("sets", "A", 0), "wrong", "right")).line == "a.yaml:4: sets.A[0]: wrong (expected: right)"
    )
    assert TREE.fault(Finding((), "wrong", "")).line == "a.yaml:1: wrong"


def test_the_plain_value_holds_no_nodes() -> None:
    assert TREE.plain() == {"sets": {"A": ["x"]}}
    assert Node("x", "a.yaml", 1).mapping == {}
