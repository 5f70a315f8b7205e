"""How fast an archive is judged again, beside the same criteria written plainly in pandas, and A0 alone beside engines.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.rejudge [CYCLES] [DISTINCT]

DISTINCT cycles of the simulator are judged and kept; each is put into the archive many times over, under other digests,
until it has CYCLES. Everything is read from the same Parquet files in the same run. Times are processor time, of all
processes together; the results of all ways are compared. `--peak` measures memory in a process of its own. `--clock`
measures by the clock on two cores, the start of the second process among it: each part of the archive lies there
COPIES times, and pandas judges one of them.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.catalogue import Programme, StageKind
from patency.evidence import against_of_texts, stages_of_text
from patency.evidence.machine_code import compiled
from patency.quantities import Limit
from patency.steps import Revision, rejudge_archive
from patency.steps.archive_parts import SAMPLES, cycles_of, parts_of, samples_of, samples_path, write_part
from patency.steps.archiving import Belonging, RawRecord, _kept
from patency.steps.revising import cycles_again
from tests.demo.fleet import drawn, larkmere

if TYPE_CHECKING:
    from collections.abc import Callable

ON = date(2026, 4, 2)
SOURCE = "another limit, invented"
SITE = larkmere().limits.cycle
HEAT = SITE.model_copy(
    update={
        "a0_target": Limit(9000.0, "s", SOURCE),
        "disinfection_band": Limit(4.0, "K", SOURCE),
        "cleaning_temperature_tolerance": Limit(4.0, "K", SOURCE),
        "drying_temperature_tolerance": Limit(4.0, "K", SOURCE),
        "first_rinse_highest": Limit(40.0, "degC", SOURCE),
        "longest_gap": Limit(4.0, "s", SOURCE),
    }
)
RUNNING = SITE.running_share.value if SITE.running_share else 0.0
A0_ALONE = SITE.model_copy(update={"a0_target": Limit(9000.0, "s", SOURCE)})


def build(archive: Path, cycles: int, distinct: int) -> None:
    """Keep simulated cycles, each many times."""
    kept = []
    for number in range(distinct):
        cycle, against = drawn(number, None, stage_column="step")
        raw = RawRecord(f"{number}.csv", cycle.record.encode())
        kept.append(
            _kept(raw.read(cycle.description, "d"), raw, Belonging("Larkmere", cycle.description, "d"), against, None)[
                :2
            ]
        )
    waiting: list[Any] = []
    for number in range(cycles):
        one, samples = kept[number % distinct]
        waiting.append((replace(one, sha256=f"{number:064x}", record=b"", name=f"{number}.csv"), samples))
        if sum(each.samples for each, _ in waiting) > 1_500_000:
            write_part(archive, waiting)
            waiting = []
    if waiting:
        write_part(archive, waiting)


def cpu_s() -> float:
    """Processor time of this process and those that ended."""
    mine, others = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    return mine.ru_utime + mine.ru_stime + others.ru_utime + others.ru_stime


def timed(what: str, do: Callable[[], Any], samples: int, values: int = 0) -> tuple[float, Any]:
    """Do something; tell how much processor time it took and how much of the archive that is."""
    do()
    took, result = [], None
    for _ in range(3):
        began = cpu_s()
        result = do()
        took.append(cpu_s() - began)
    least = min(took)
    more = f", {values / least / 1e6:6.1f} M readings" if values else ""
    print(f"{what:<58}{least:8.2f} s{samples / least / 1e6:8.2f} M samples{more} per core and second", flush=True)
    return least, result


def longest_run(held: Any, time_s: Any) -> float:  # noqa: ANN401 - pandas is imported where it is used
    """Return the length of the longest stretch of True, plainly."""
    groups = (~held).cumsum()[held]
    return (
        float(time_s[held].groupby(groups).agg(lambda part: part.iloc[-1] - part.iloc[0]).max()) if held.any() else 0.0
    )


def in_pandas(part: Path) -> dict[str, list[float]]:
    """Work out the heat criteria of every cycle of a part plainly in pandas."""
    import pandas as pd

    columns = ["cycle", "elapsed_s", "1 T1", "2 T2", "3 P1"]
    frame = pd.DataFrame(samples_of(part, columns))
    rows = cycles_of(part, "stages", "against", "samples")
    found: dict[str, list[float]] = {"a0": [], "hold": [], "clean": [], "dry": [], "gap": [], "first": [], "ran": []}
    for number, samples in frame.groupby("cycle"):
        row = rows[int(number)]
        against = against_of_texts(json.loads(row["against"]))
        if not isinstance(against.programme, Programme):
            raise SystemExit("a cycle was kept without its programme")
        stages = stages_of_text(row["stages"], against.programme, row["samples"])
        cycle = samples.reset_index(drop=True)
        time_s, step = cycle["elapsed_s"], cycle["elapsed_s"].diff()
        counted = pd.Series(stages.moist.counted) & pd.Series(stages.moist.counted).shift(fill_value=False)
        for column, doubt in (("1 T1", 0.5), ("2 T2", 0.3)):
            celsius = cycle[column].where(cycle[column] <= 100.5) - doubt
            rate = (10 ** ((celsius - 80) / 10)).where(celsius >= 65, 0.0)
            worth = (0.5 * (rate + rate.shift()) * step).where(counted, 0.0)
            found["a0"].append(float(worth.sum()))
        found["gap"] += [float(step.max()), *(float(time_s[cycle[name].notna()].diff().max()) for name in columns[2:])]
        hot = cycle[["1 T1", "2 T2"]].max(axis=1)
        pumped = cycle["3 P1"].ffill() > RUNNING * cycle["3 P1"].quantile(0.95)
        worst_hot = pd.concat([cycle["1 T1"] + 0.5, cycle["2 T2"] + 0.3], axis=1).max(axis=1)
        worst_cold = pd.concat([cycle["1 T1"] - 0.5, cycle["2 T2"] - 0.3], axis=1).min(axis=1)
        for span in stages.spans:
            within = (cycle.index >= span.first) & (cycle.index <= span.last)
            set_c, kind = span.stage.temperature_c, span.stage.kind
            if kind.wet:
                ran = within & pumped
                found["ran"].append(float(step[ran & ran.shift(fill_value=False)].sum()))
            if kind is StageKind.DISINFECT:
                held = within & (worst_cold >= set_c) & (worst_hot <= set_c + 4.0)
                found["hold"].append(longest_run(held, time_s))
                window = worst_cold[within].rolling(int(span.stage.hold_s / time_s.diff().median()) + 1).min()
                found["hold"] += [float(window.max()), float(hot[within].max())]
            elif kind is StageKind.CLEAN:
                inside = within & (worst_cold >= set_c - 4.0) & (worst_hot <= set_c + 4.0)
                found["clean"] += [float(step[inside & inside.shift(fill_value=False)].sum()), float(hot[within].max())]
            elif kind is StageKind.DRY:
                air = within & (cycle["1 T1"] - 0.5 >= set_c - 4.0)
                found["dry"] += [
                    float(time_s[within].iloc[-1] - time_s[within].iloc[0]),
                    float(step[air & air.shift(fill_value=False)].sum()),
                    float(cycle["1 T1"][within].max()),
                ]
            elif kind is StageKind.FLUSH:
                found["first"].append(float(hot[within].max()))
    return found


SENSORS = ("1 T1", "2 T2")
A0 = (80.0, 10.0, 65.0)


def a0_here(part: Path) -> list[float]:
    """Work out A0 of both thermometers over whole records, by the kernel of the verdict."""
    kept = samples_of(part, ["elapsed_s", *SENSORS])
    sizes = [row["samples"] for row in cycles_of(part, "samples")]
    run = compiled("credit")
    found, first = [], 0
    for size in sizes:
        now = slice(first, first + size)
        first += size
        time_s = kept["elapsed_s"][now]
        usual = float(np.median(np.diff(time_s)))
        steps, every = np.zeros(size - 1, dtype=bool), np.ones(size, dtype=bool)
        found += [
            run(time_s, steps, kept[name][now], every, A0, (1.5 * usual, 0.0), (np.inf, 0.0))[0] for name in SENSORS
        ]
    return found


def a0_duckdb(part: Path) -> list[float]:
    """The same as one statement."""
    import duckdb

    path = str(part).replace(".cycles.", ".samples.")
    sums = ", ".join(
        f"sum(CASE WHEN dt > 1.5 * usual THEN least(r{n}, p{n}) ELSE 0.5 * (r{n} + p{n}) END * dt)" for n in (1, 2)
    )
    rates = ", ".join(
        f'CASE WHEN "{name}" >= 65 THEN power(10, ("{name}" - 80) / 10) ELSE 0 END AS r{n}'
        for n, name in enumerate(SENSORS, 1)
    )
    with duckdb.connect(config={"threads": 1}) as opened:
        rows = opened.execute(
            f"""WITH r AS (SELECT cycle, elapsed_s, {rates} FROM read_parquet('{path}', hive_partitioning = false)),
                 d AS (SELECT cycle, r1, r2, lag(r1) OVER w AS p1, lag(r2) OVER w AS p2,
                              elapsed_s - lag(elapsed_s) OVER w AS dt
                       FROM r WINDOW w AS (PARTITION BY cycle ORDER BY elapsed_s)),
                 u AS (SELECT cycle, median(dt) AS usual FROM d GROUP BY cycle)
            SELECT {sums} FROM d JOIN u USING (cycle) GROUP BY cycle ORDER BY cycle"""  # noqa: S608
        ).fetchall()
    return [value for row in rows for value in row]


def a0_polars(part: Path) -> list[float]:
    """The same as expressions."""
    import polars as pl

    dt = (pl.col("elapsed_s") - pl.col("elapsed_s").shift()).over("cycle")
    frame = pl.scan_parquet(str(part).replace(".cycles.", ".samples."), hive_partitioning=False)
    worths = []
    for name in SENSORS:
        rate = pl.when(pl.col(name) >= 65).then(10 ** ((pl.col(name) - 80) / 10)).otherwise(0.0)
        before = rate.shift().over("cycle")
        mean = 0.5 * (rate + before)
        worths.append(
            (
                pl.when(dt > 1.5 * dt.median().over("cycle")).then(pl.min_horizontal(rate, before)).otherwise(mean) * dt
            ).alias(f"w {name}")
        )
    summed = frame.select("cycle", *worths).group_by("cycle", maintain_order=True).agg(pl.all().sum()).collect()
    return summed.drop("cycle").to_numpy().ravel().tolist()


def main(cycles: int, distinct: int) -> None:
    """Build an archive, judge it again in all ways, compare."""
    with tempfile.TemporaryDirectory() as folder:
        archive = Path(folder)
        build(archive, cycles, distinct)
        parts = parts_of(archive)
        size = sum(path.stat().st_size for path in archive.rglob(f"*{SAMPLES}"))
        heat = rejudge_archive(archive, Revision(ON, HEAT))
        samples = heat.samples
        print(f"{heat.cycles} cycles, {samples} samples in {len(parts)} parts, {size / samples:.1f} byte a sample")
        ours, _ = timed(
            "heat criteria, other limits", lambda: rejudge_archive(archive, Revision(ON, HEAT)), samples, heat.values
        )
        alone = rejudge_archive(archive, Revision(ON, A0_ALONE))
        timed("A0 alone as criterion", lambda: rejudge_archive(archive, Revision(ON, A0_ALONE)), samples, alone.values)
        whole = Revision(ON, HEAT, everything=True)
        every = rejudge_archive(archive, whole)
        timed("every criterion", lambda: rejudge_archive(archive, whole), samples, every.values)
        few = parts[:1]
        few_samples = sum(row["samples"] for part in few for row in cycles_of(part, "samples"))
        took, plain = timed("heat criteria, plainly in pandas", partial(in_pandas, few[0]), few_samples)
        print(f"  {took / few_samples / (ours / samples):.0f} times ours")
        compare(few[0], plain)
        a0_ours, found = timed("A0 over whole records, ours", lambda: [a0_here(part) for part in parts], samples)
        for name, way in (("DuckDB", a0_duckdb), ("Polars", a0_polars)):
            theirs, same = timed(f"A0 over whole records, {name}", partial(_each, way, parts), samples)
            worst = max(
                abs(one / other - 1) for a, b in zip(found, same, strict=True) for one, other in zip(a, b, strict=True)
            )
            print(f"  {theirs / a0_ours:.1f} times ours; results differ by at most {worst:.0e}")


def _each(way: Callable[[Path], list[float]], parts: list[Path]) -> list[list[float]]:
    return [way(part) for part in parts]


def compare(part: Path, plain: dict[str, list[float]]) -> None:
    """Hold what pandas found against the criteria of the verdict."""
    guarded, holds, ran = [], [], []
    for one in cycles_again(part, Revision(ON, HEAT)):
        if one.judged is None:
            raise SystemExit("nothing was judged again")
        named = [(c.name, c.value) for _, c in one.judged.criteria if c.value is not None]
        guarded += [value for name, value in named if name == "A0"]
        holds += [value for name, value in named if name == "disinfection hold time"]
        ran += [value for name, value in named if name == "circulation time"]
    worst = max(abs(a / b - 1) for a, b in zip(plain["a0"], guarded, strict=True))
    off = max(abs(a - b) for a, b in zip(plain["hold"][::3], holds, strict=True))
    pump = max(abs(a - b) for a, b in zip(plain["ran"], ran, strict=True))
    print(f"  differences from pandas at most: A0 {worst:.0e}, hold times {off:.1g} s, circulation times {pump:.1g} s")


def peak(cycles: int, distinct: int) -> None:
    """Tell the peak of memory of judging an archive again, in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        build(Path(folder), cycles, distinct)
        code = (
            "import sys; from pathlib import Path; from benchmarks.rejudge import HEAT, ON\n"
            "from patency.steps import Revision, rejudge_archive\n"
            "done = rejudge_archive(Path(sys.argv[1]), Revision(ON, HEAT, everything=True))\n"
            "peak = next(line for line in open('/proc/self/status') if line.startswith('VmHWM'))\n"
            "print(f'{done.cycles} cycles, {done.samples} samples: peak {int(peak.split()[1]) / 1024:.0f} MiB')"
        )
        subprocess.run([sys.executable, "-c", code, folder], check=True)  # noqa: S603 - own code


COPIES = 150


def clock(cycles: int, distinct: int) -> None:
    """Tell how fast two processes judge a large archive again by the clock, and one does plainly in pandas."""
    with tempfile.TemporaryDirectory() as folder:
        archive = Path(folder)
        build(archive, cycles, distinct)
        parts = parts_of(archive)
        for part in parts:
            for number in range(1, COPIES):
                for path in (part, samples_path(part)):
                    os.link(path, path.with_name(f"{number}-{path.name}"))
        rows = sum(row["samples"] for row in cycles_of(parts[-1], "samples"))
        began = time.perf_counter()
        in_pandas(parts[-1])
        plain = rows / (time.perf_counter() - began)
        print(f"heat criteria, plainly in pandas: {plain / 1e6:.3f} M samples a second by the clock", flush=True)
        whole = Revision(ON, HEAT, everything=True)
        for what, revision, shared in (("heat", Revision(ON, HEAT), (1, 2)), ("every criterion", whole, (2,))):
            for processes in shared:
                began = time.perf_counter()
                done = rejudge_archive(archive, revision, processes=processes)
                took = time.perf_counter() - began
                readings = done.values  # noqa: PD011 - no frame of pandas
                print(
                    f"{what}, {processes} processes: {done.samples / 1e6:.1f} M samples in {took:.1f} s, "
                    f"{done.samples / took / 1e6:.2f} M samples, {readings / took / 1e6:.1f} M readings a second; "
                    f"{done.samples / took / plain:.0f} times pandas",
                    flush=True,
                )


WAYS = {"--peak": peak, "--clock": clock}

if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:] if word not in WAYS]
    way = next((WAYS[word] for word in sys.argv[1:] if word in WAYS), main)
    way(*given, *(1200, 12)[len(given) :])
