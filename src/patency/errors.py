"""Every error Patency raises on purpose, as one tree: where, what, what was expected.

A finding about the world (a lumen that starves, a limit that is missed) is a value, never an
exception. These errors mean that the work cannot go on with what was given.
"""

from __future__ import annotations


class PatencyError(Exception):
    """The root: one line that tells a person where the fault lies and what was expected.

    Parameters
    ----------
    where
        The place: a file with its line, a key path, a command's argument.
    what
        What was found there.
    expected
        What would have been right; empty where nothing more can be said.
    """

    def __init__(self, where: str, what: str, expected: str = "") -> None:
        self.where = where
        self.what = what
        self.expected = expected
        super().__init__(self.line)

    @property
    def line(self) -> str:
        """The whole fault as one line of text; what would break the line is written as its escape."""
        tail = f" (expected: {self.expected})" if self.expected else ""
        whole = f"{self.where}: {self.what}{tail}"
        return "".join(sign if sign.isprintable() else sign.encode("unicode_escape").decode() for sign in whole)


class InputError(PatencyError):
    """What was given cannot be used: a broken file, an unknown key, a value out of its range."""


class InputErrors(InputError):
    """Several faults found in one reading, so that a person can mend them all at once.

    Parameters
    ----------
    faults
        The single faults, at least one, in the order of the files.
    """

    def __init__(self, faults: list[InputError]) -> None:
        first = faults[0]
        super().__init__(first.where, first.what, first.expected)
        self.faults = tuple(faults)


class PhysicsError(PatencyError):
    """The network has no state that physics allows, such as a pump driven beyond its run-out."""


class StoreError(PatencyError):
    """What was to be kept could not be written, and nothing of it was: the disk is full, the database away or busy."""
