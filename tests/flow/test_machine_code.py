"""Functions compiled on first use, which several threads may ask for at once."""

from __future__ import annotations

import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

import numba.extending

from patency.flow import machine_code

if TYPE_CHECKING:
    from collections.abc import Callable

    import pytest


def doubled(value: float) -> float:
    return 2.0 * value


def doubled_twice(value: float) -> float:
    return doubled(doubled(value))


def test_threads_that_ask_at_once_make_a_function_known_to_the_compiler_once(monkeypatch: pytest.MonkeyPatch) -> None:
    made_known: Counter[str] = Counter()
    register = numba.extending.register_jitable

    def slowly(**options: Any) -> Callable[..., Any]:  # noqa: ANN401
        def known(function: Callable[..., Any]) -> Callable[..., Any]:
            made_known[function.__name__] += 1
            time.sleep(0.05)
            return register(**options)(function)

        return known

    monkeypatch.setattr(numba.extending, "register_jitable", slowly)
    with ThreadPoolExecutor(4) as pool:
        asked = [pool.submit(machine_code.compiled_for_threads, doubled_twice, (doubled,)) for _ in range(4)]
        assert [one.result()(1.5) for one in asked] == [6.0] * 4
    assert made_known["doubled"] == 1
    assert made_known.most_common(1)[0][1] == 1
