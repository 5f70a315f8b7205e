"""A room's door says what the room is for, lists what it offers and describes each thing it offers."""

from __future__ import annotations

import importlib
import inspect
from types import ModuleType, SimpleNamespace
from typing import TYPE_CHECKING, Protocol

import pytest

from tests.house.source import PACKAGE, ROOMS

if TYPE_CHECKING:
    from collections.abc import Iterator


class Door(Protocol):
    """What the rule needs to know of a door."""

    __name__: str
    __doc__: str | None


def untold(door: Door | ModuleType) -> Iterator[str]:
    """Say what a door leaves open."""
    if len((door.__doc__ or "").split()) < 5:
        yield "says not what the room is for"
    offered = getattr(door, "__all__", [])
    if not offered:
        yield "lists nothing in __all__"
    for name in offered:
        if not hasattr(door, name):
            yield f"lists {name} and has it not"
            continue
        thing = getattr(door, name)
        thing = getattr(thing, "py_func", thing)  # a compiled function carries the one it was made from
        if inspect.isclass(thing) or inspect.isfunction(thing):
            yield from (f"{name} {fault}" for fault in undescribed(thing))


def undescribed(thing: type | object) -> Iterator[str]:
    """Say what the docstring of a class or function leaves open."""
    words = vars(thing).get("__doc__") if isinstance(thing, type) else thing.__doc__
    name = getattr(thing, "__name__", "")
    if not words or words.startswith(f"{name}("):  # a dataclass without docstring gets its signature
        yield "has no docstring"
    elif inspect.isfunction(thing):
        signature = inspect.signature(thing)
        if signature.parameters and "Parameters\n" not in words:
            yield "does not describe its parameters"
        if signature.return_annotation not in (None, "None", signature.empty) and not (
            "Returns\n" in words or "Yields\n" in words
        ):
            yield "does not describe what it returns"


@pytest.mark.parametrize("room", ROOMS)
def test_a_door_is_complete(room: str) -> None:
    assert list(untold(importlib.import_module(f"patency.{room}"))) == []


def test_every_folder_of_the_package_is_a_room_with_a_door() -> None:
    folders = {folder.name for folder in PACKAGE.iterdir() if folder.is_dir() and folder.name != "__pycache__"}
    assert folders == set(ROOMS)


def test_the_truth_of_the_demo_is_not_handed_out() -> None:
    door = importlib.import_module("patency.demo")
    origins = {name: getattr(getattr(door, name), "__module__", "") for name in getattr(door, "__all__", [])}
    assert [name for name, origin in origins.items() if origin.startswith("patency.demo.truth")] == []


def bare(width: float) -> float:
    """Double it."""
    return 2 * width


def mute() -> None: ...


def told(width: float) -> float:
    """Double it.

    Parameters
    ----------
    width
        How wide.

    Returns
    -------
    float
        Twice as wide.
    """
    return 2 * width


def test_a_careless_door_is_found() -> None:
    door = SimpleNamespace(__name__="door", __doc__=".", __all__=["bare", "mute", "gone", "told"])
    door.bare, door.mute, door.told = bare, mute, told
    assert list(untold(door)) == [
        "says not what the room is for",
        "bare does not describe its parameters",
        "bare does not describe what it returns",
        "mute has no docstring",
        "lists gone and has it not",
    ]


def test_an_empty_door_is_found() -> None:
    assert list(untold(SimpleNamespace(__name__="door", __doc__="A room that is for nothing."))) == [
        "lists nothing in __all__"
    ]
