"""How much memory and time it takes to cut cycles out of one large file.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.large_record [MEGABYTES]

Writes a file of cycles of one hour with seven columns, cuts every cycle out in a process of its own, then one by its
time, and tells the peak of memory of each (VmHWM of the system, so Linux only).
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

DESCRIPTION = """\
format: patency-record/1
time: {column: time, unit: s}
columns:
  T1: {quantity: temperature, unit: degC, place: chamber, uncertainty: 0.5}
"""
CODE = """
import sys
from pathlib import Path
from patency.steps import cut_cycles, cut_time
path, beside, out = (Path(word) for word in sys.argv[1:4])
if sys.argv[4] == "cycles":
    done = cut_cycles(path, beside, "run", out)
elif sys.argv[4] == "time":
    done = cut_time(path, beside, "1800000", "1807200", out)
peak = next(line for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(int(peak.split()[1]) // 1024)
"""


def main(megabytes: int) -> None:
    """Write, cut, tell."""
    with tempfile.TemporaryDirectory() as folder:
        path, beside = Path(folder) / "weeks.csv", Path(folder) / "r.yaml"
        beside.write_text(DESCRIPTION, encoding="utf-8")
        size = cycle = 0
        with path.open("wb") as file:
            size += file.write(b"time,run,T1,T2,P1,arm,cond\n")
            while size < megabytes * 10**6:
                first = cycle * 3600
                rows = (
                    b"%d,%d,%.2f,%.2f,210.4,33.1,12.50\n" % (first + s, cycle, 20 + s % 70, s % 70) for s in range(3600)
                )
                size += file.write(b"".join(rows))
                cycle += 1
        print(f"{size / 1e9:.2f} GB, {cycle} cycles, {cycle * 3600} rows")
        for what in ("nothing", "cycles", "time"):
            began = time.perf_counter()
            words = [sys.executable, "-c", CODE, str(path), str(beside), str(Path(folder) / "out"), what]
            done = subprocess.run(words, capture_output=True, text=True, check=True)  # noqa: S603 - own code
            print(f"{what:<8} peak {done.stdout.strip()} MiB, {time.perf_counter() - began:.0f} s by the clock")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
