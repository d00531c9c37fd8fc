"""How long does taking a staff list of 50,000 over take, and how much memory? Prints both.

Usage: python benchmarks/staff_import.py [ROWS]

A first load into an empty SQLite file; a newer list with 2,000 movers and 500 leavers; the same list with
another email for everyone. Each is read, compared, and taken over in a process of its own.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from staff_list import write_list

MOVERS, LEAVERS = 2_000, 500
BY = "clerk"


def main() -> None:
    """Make an empty house, then take two lists over in it."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 50_000
    with tempfile.TemporaryDirectory() as folder:
        first = write_list(rows, seed=1)
        newer = _newer(first)
        _in_a_child(folder, "prepare")
        print(f"{rows:,} rows, {len(first) / 1e6:.1f} MB")
        lists = {
            "first load": first,
            f"newer list, {MOVERS:,} movers, {LEAVERS:,} leavers": newer,
            "all emails corrected": newer.replace(b"@saltmere", b"@post.saltmere"),
        }
        for name, raw in lists.items():
            path = Path(folder, "staff.csv")
            path.write_bytes(raw)
            print(name)
            _in_a_child(folder, str(path))


def _newer(raw: bytes) -> bytes:
    """Leave the last people out, and let those before them work in a ward there is already."""
    head, *rows = raw.decode("utf-8-sig").splitlines(keepends=True)
    staying = rows[:-LEAVERS]
    for place in range(len(staying) - MOVERS, len(staying)):
        cells = staying[place].split(";")
        cells[5] = f"Ward {(int(cells[5].removeprefix('Ward ')) + 1) % 40}"
        staying[place] = ";".join(cells)
    return (head + "".join(staying)).encode("utf-8-sig")


def _in_a_child(folder: str, task: str) -> None:
    settings = {"THENAR_DATA": folder, "THENAR_DEMO": "1", "DJANGO_SETTINGS_MODULE": "thenar.site.settings"}
    place = {name: value for name, value in os.environ.items() if name != "THENAR_DATABASE_URL"}
    subprocess.run([sys.executable, __file__, "--task", task], env={**place, **settings}, check=True)


def _prepare() -> None:
    from django.core.management import call_command

    from thenar.records.models import AccessRole, Area, User

    call_command("migrate", verbosity=0)
    User.objects.create_user(username=BY, password=None, access=AccessRole.CLERK)
    area = Area(name="The hospital")
    area.path = area.path_under(None)
    area.save()


def _take_over(path: Path) -> None:
    from thenar.exchange.staff_import import dry_run, file_hash, take_over
    from thenar.records.actions.staff import keep_staff_list
    from thenar.records.models import User

    before_mb, now, by = _peak_mb(), datetime.now(UTC), User.objects.get(username=BY)
    raw = path.read_bytes()
    began, busy = time.perf_counter(), time.process_time()
    kept = keep_staff_list(raw=raw, file_name=path.name, file_hash=file_hash(raw), by=by, now=now)
    run = dry_run(raw=raw, name=path.name, day_first=None, by=by, now=now)
    looked = time.perf_counter()
    done = take_over(
        waiting=kept, digest=run.digest, unusual_confirmed=True, by=by, now=now, listed=run.listed
    )
    ended, busy = time.perf_counter(), time.process_time() - busy
    counts = (done.joiners, done.movers, done.corrected, done.leavers)
    print("  {:,} joined, {:,} moved, {:,} corrected, {:,} left".format(*counts))
    print(f"  dry run    {looked - began:6.2f} s")
    print(f"  taken over {ended - looked:6.2f} s")
    print(f"  together   {ended - began:6.2f} s, of which the processor {busy:.2f} s")
    print(f"  peak       {_peak_mb():6.0f} MB, of which {before_mb:.0f} MB before reading")


def _peak_mb() -> float:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1e6 if sys.platform == "darwin" else peak / 1e3


if __name__ == "__main__":
    if sys.argv[1:2] == ["--task"]:
        import django

        django.setup()
        _prepare() if sys.argv[2] == "prepare" else _take_over(Path(sys.argv[2]))
    else:
        main()
