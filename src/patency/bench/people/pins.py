"""PINs: hashed with Argon2id, and refused where anybody would guess them."""

from __future__ import annotations

import itertools
import threading
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pwdlib import PasswordHash

_LEAST_DIGITS = 6
_MOST_DIGITS = 12
# Each hash takes 64 MiB and a tenth of a second: two at a time leave the bench its memory and a core.
_AT_A_TIME = threading.BoundedSemaphore(2)


@cache
def _hasher() -> PasswordHash:
    from pwdlib import PasswordHash
    from pwdlib.hashers.argon2 import Argon2Hasher

    return PasswordHash((Argon2Hasher(),))


def hash_pin(pin: str) -> str:
    """Hash a PIN with a salt of its own.

    Parameters
    ----------
    pin
        The digits.

    Returns
    -------
    str
        Argon2id in its usual text form.
    """
    with _AT_A_TIME:
        return _hasher().hash(pin)


def pin_is(pin: str, hashed: str) -> bool:
    """Say whether a PIN is the one that was hashed.

    Parameters
    ----------
    pin
        The digits.
    hashed
        What `hash_pin` gave.

    Returns
    -------
    bool
        Whether they belong together.
    """
    with _AT_A_TIME:
        return _hasher().verify(pin, hashed)


@cache
def nobodys_hash() -> str:
    """Return the hash of a PIN nobody has, so that an unknown badge takes as long as a wrong PIN.

    Returns
    -------
    str
        A hash.
    """
    return hash_pin("no PIN has letters")


def weak_pin(pin: str) -> str | None:
    """Say what is wrong with a PIN somebody wants.

    Parameters
    ----------
    pin
        What was entered.

    Returns
    -------
    str or None
        What it needs; None where it will do.

    Examples
    --------
    >>> weak_pin("1234"), weak_pin("777777"), weak_pin("234567")
    ('six to twelve digits', 'not all digits alike', 'not digits in a row')
    >>> weak_pin("904617") is None
    True
    """
    if not (pin.isascii() and pin.isdigit() and _LEAST_DIGITS <= len(pin) <= _MOST_DIGITS):
        return "six to twelve digits"
    steps = {(int(b) - int(a)) % 10 for a, b in itertools.pairwise(pin)}
    if steps == {0}:
        return "not all digits alike"
    if steps in ({1}, {9}):
        return "not digits in a row"
    return None
