"""How long does a staff list of 50,000 rows take, and how much memory? Prints both.

Usage: python benchmarks/staff_list.py [ROWS]
"""

import random
import resource
import sys
import time
from datetime import date, timedelta

from thenar.exchange.staff_changes import CurrentWorker, compare_staff, staff_after
from thenar.exchange.staff_list import read_staff_list

TODAY = date(2025, 6, 2)
HEADERS = "Staff number;Family name;Given name;Born;Email;Ward;Role;FTE;Start;End\r\n"


def write_list(rows: int, *, seed: int) -> bytes:
    """Invent a list with accents, leading zeros and two kinds of date."""
    draw = random.Random(seed)
    lines = [HEADERS]
    for number in range(rows):
        born = date(1958, 1, 1) + timedelta(days=draw.randrange(16_000))
        start = date(2005, 1, 1) + timedelta(days=draw.randrange(7_000))
        lines.append(
            f"{number:08};Tern{draw.randrange(9_000)};Zoë{draw.randrange(900)};{born:%d/%m/%Y};"
            f"p{number}@saltmere.example;Ward {draw.randrange(40)};role {draw.randrange(12)};"
            f"{draw.choice(('1', '0,8', '50 %'))};{start};\r\n"
        )
    return "".join(lines).encode("utf-8-sig")


def main() -> None:
    """Read, compare with nobody, take over, compare again."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 50_000
    raw = write_list(rows, seed=1)
    before_mb = _peak_mb()
    began = time.perf_counter()
    listed = read_staff_list(raw, name="staff.csv", today=TODAY)
    read = time.perf_counter()
    nobody: dict[str, CurrentWorker] = {}
    joining = compare_staff(nobody, listed, known_areas=(), known_roles=(), today=TODAY)
    staff = staff_after(nobody, joining)
    again = compare_staff(staff, listed, known_areas=(), known_roles=(), today=TODAY)
    compared = time.perf_counter()
    if not len(listed.rows) == len(staff) == again.unchanged == rows:
        raise SystemExit("The list was not read whole; the figures would mean nothing.")
    print(f"{rows:,} rows, {len(raw) / 1e6:.1f} MB")
    print(f"read      {read - began:6.2f} s")
    print(f"compared  {compared - read:6.2f} s (twice, and taken over once)")
    print(f"peak      {_peak_mb():6.0f} MB, of which {before_mb:.0f} MB before reading")


def _peak_mb() -> float:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1e6 if sys.platform == "darwin" else peak / 1e3


if __name__ == "__main__":
    main()
