"""How long `thenar --help` takes, beside starting Python with nothing to do, in the same run.

Target: at most 0.4 s.
"""

import statistics
import subprocess
import sys
import time

RUNS = 15


def median_seconds(*arguments: str) -> float:
    """Median wall time of starting Python with these arguments."""
    taken = []
    for _ in range(RUNS):
        started = time.perf_counter()
        subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
        taken.append(time.perf_counter() - started)
    return statistics.median(taken)


if __name__ == "__main__":
    bare = median_seconds("-c", "pass")
    told = median_seconds("-m", "thenar", "--help")
    print(f"thenar --help: {told:.2f} s, median of {RUNS} (target 0.40); bare Python {bare:.2f} s")
