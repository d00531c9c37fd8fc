"""How fast Today and a search answer at 20,000 workers with five years of history.

Builds such a database in a temporary folder, then asks as a practitioner. Target: at most 25 queries and a
95th percentile of at most 200 ms on two cores; on a machine busy with other things, read the time at work.
The history is random; only its size is meant to be real.
"""

import os
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from pathlib import Path

FOLDER = tempfile.TemporaryDirectory(prefix="thenar-bench-")
os.environ.update(
    DJANGO_SETTINGS_MODULE="thenar.site.settings", THENAR_DATA=FOLDER.name, THENAR_LOG_LEVEL="ERROR"
)

import django  # noqa: E402

django.setup()

from django.core.management import call_command  # noqa: E402
from django.db import connection, transaction  # noqa: E402
from django.test import Client  # noqa: E402
from django.utils import timezone  # noqa: E402

from thenar.records import models as kept  # noqa: E402
from thenar.records.models.people import folded  # noqa: E402

WORKERS, CHECKS, CASES, REQUESTS = 20_000, 60_000, 12_000, 60
YEARS = 5
GIVEN = ["Ada", "Ben", "Cora", "Dan", "Eve", "Finn", "Gita", "Hugo", "Ines", "Kemi", "Lars", "Olga"]
ROOTS = ["Ash", "Bell", "Carr", "Dale", "Elm", "Firth", "Gale", "Holt", "Kirk", "Lund", "Moss", "Thorn"]
ENDS = ["ley", "ford", "ham", "ton", "well", "worth", "by", "son", "man", "field"]
chance = random.Random(20)


def main() -> None:
    """Build, ask, print."""
    started = time.perf_counter()
    call_command("migrate", verbosity=0)
    with transaction.atomic():
        practitioner = build(timezone.now())
    size = Path(FOLDER.name, "thenar.sqlite3").stat().st_size / 1e6
    print(
        f"built {WORKERS} workers, {CHECKS} checks, {CASES} cases in {time.perf_counter() - started:.0f} s; "
        f"{size:.0f} MB"
    )
    client = Client(headers={"host": "localhost"})
    client.force_login(practitioner)
    report("today", lambda: client.get("/today/"))
    client.post("/workers/", {"words": "holt"})
    report("search", lambda: client.get("/workers/"))
    FOLDER.cleanup()


def report(name: str, ask: Callable[[], object]) -> None:
    """Ask many times; print queries per request, and the middle and the 95th of a hundred times."""
    ask()
    times, work = [], []
    for _ in range(REQUESTS):
        with counted() as queries:
            begun, at_work = time.perf_counter(), time.process_time()
            response = ask()
            times.append(1000 * (time.perf_counter() - begun))
            work.append(1000 * (time.process_time() - at_work))
        if response.status_code != 200:  # type: ignore[attr-defined]
            sys.exit(f"{name} answered {response.status_code}")  # type: ignore[attr-defined]
    print(f"{name}: {len(queries)} queries; {spread(times)}; of it at work {spread(work)}")


def spread(times: list[float]) -> str:
    """The middle of the times and the 95th of a hundred [ms]."""
    p95 = sorted(times)[int(0.95 * len(times))]
    return f"p50 {statistics.median(times):.0f} ms, p95 {p95:.0f} ms"


@contextmanager
def counted():
    """Note every statement sent to the database; with SHOW=1 in the environment, print the slow ones."""
    seen: list[str] = []

    def count(execute, sql, params, many, context):
        begun = time.perf_counter()
        try:
            return execute(sql, params, many, context)
        finally:
            seen.append(sql)
            took = 1000 * (time.perf_counter() - begun)
            if os.environ.get("SHOW") and took > 2:
                print(f"  {took:.0f} ms  {sql[:400]}")

    with connection.execute_wrapper(count):
        yield seen


def build(now: datetime) -> kept.User:
    """Fill the database; the practitioner who will ask."""
    today = timezone.localdate(now)
    practitioner = kept.User.objects.create_user(
        "asker", access="practitioner", first_name="Ann", last_name="Asker"
    )
    posts_of_workers(today)
    workers = list(kept.Worker.objects.all())
    cases = cases_with_their_rows(workers, practitioner, now, today)
    checks_dealt_with(workers, cases, practitioner, now)
    letters_on_their_way(cases, practitioner, now, today)
    old_looks(now)
    return practitioner


def posts_of_workers(today: date) -> None:
    """Workers, and the posts they hold and held, in 40 areas."""
    root = kept.Area(name="The hospital")
    root.path = root.path_under(None)
    root.save()
    areas = [kept.Area(name=f"Ward {number}", parent=root) for number in range(1, 41)]
    for area in areas:
        area.path = area.path_under(root)
        area.save()
    roles = [kept.Role.objects.create(name=name) for name in ("Nurse", "Cleaner", "Porter", "Doctor", "Cook")]
    workers = []
    for number in range(WORKERS):
        given, family = chance.choice(GIVEN), chance.choice(ROOTS) + chance.choice(ENDS)
        workers.append(
            kept.Worker(
                staff_number=f"{100_000 + number}",
                given_name=given,
                family_name=family,
                search_name=folded(given, family),
                born_on=date(1960, 1, 1) + timedelta(days=chance.randrange(15_000)),
            )
        )
    kept.Worker.objects.bulk_create(workers, batch_size=2000)
    posts = []
    for worker in workers:
        began = today - timedelta(days=chance.randrange(30, 365 * YEARS))
        moved = chance.random() < 0.4
        if moved:
            posts.append(a_post(worker, areas, roles, began - timedelta(days=400), began - timedelta(days=1)))
        posts.append(a_post(worker, areas, roles, began, None))
    kept.Post.objects.bulk_create(posts, batch_size=2000)


def a_post(worker, areas, roles, from_on, until_on) -> kept.Post:
    """One post somewhere."""
    return kept.Post(
        worker=worker,
        area=chance.choice(areas),
        role=chance.choice(roles),
        from_on=from_on,
        until_on=until_on,
    )


def cases_with_their_rows(workers, by, now, today) -> list[kept.Case]:
    """Cases, nearly all closed, with examinations, plans and reviews; some reviews late, some to come."""
    cases = [
        kept.Case(
            worker=worker, opened_on=today - timedelta(days=chance.randrange(20, 365 * YEARS)), at=now, by=by
        )
        for worker in chance.sample(workers, CASES)
    ]
    kept.Case.objects.bulk_create(cases, batch_size=2000)
    open_cases, closed = cases[:700], cases[700:]
    kept.CaseClosing.objects.bulk_create(
        [
            kept.CaseClosing(
                case=case, closed_on=case.opened_on + timedelta(days=19), outcome="clear", at=now, by=by
            )
            for case in closed
        ],
        batch_size=2000,
    )
    kept.Examination.objects.bulk_create(
        [
            kept.Examination(
                case=case,
                examined_on=case.opened_on + timedelta(days=day),
                signs={},
                total=chance.randrange(60),
                band="moderate",
                edition="2026.1",
                at=now,
                by=by,
            )
            for case in cases
            for day in (0, 14)
        ],
        batch_size=2000,
    )
    kept.Plan.objects.bulk_create(
        [
            kept.Plan(case=case, made_on=case.opened_on, content={}, edition="2026.1", at=now, by=by)
            for case in cases
        ],
        batch_size=2000,
    )
    past = [a_review(case, case.opened_on, case.opened_on + timedelta(days=14), now, by) for case in cases]
    waiting = [a_review(case, today - timedelta(days=19), due_day(today), now, by) for case in open_cases]
    kept.Review.objects.bulk_create([*past, *waiting], batch_size=2000)
    kept.ReviewOutcome.objects.bulk_create(
        [
            kept.ReviewOutcome(review=review, done_on=review.due_on, outcome="done", at=now, by=by)
            for review in past
        ],
        batch_size=2000,
    )
    return cases


def a_review(case, set_on, due_on, now, by) -> kept.Review:
    """One review of a case."""
    return kept.Review(case=case, set_on=set_on, due_on=due_on, purpose="Look again", at=now, by=by)


def due_day(today: date) -> date:
    """Mostly to come, some late."""
    return today + timedelta(days=chance.randrange(-15, 90))


def checks_dealt_with(workers, cases, by, now) -> None:
    """Checks over five years; all but 120 were dealt with."""
    codes = ("self_care", "routine", "prompt", "same_day", "emergency")
    checks = []
    for place in range(CHECKS):
        waits = place >= CHECKS - 120
        age = timedelta(minutes=chance.randrange(60, 14_000 if waits else 60 * 24 * 365 * YEARS))
        checks.append(
            kept.SkinCheck(
                worker=chance.choice(workers),
                given_by="worker",
                submitted_at=now - age,
                answers={"dryness": "yes"},
                urgency=chance.choices(codes, (30, 40, 22, 7, 1))[0],
                patient_contact="adjust",
                reasons=["triage.sore"],
                edition="2026.1",
            )
        )
    kept.SkinCheck.objects.bulk_create(checks, batch_size=2000)
    kept.CheckSorting.objects.bulk_create(
        [
            kept.CheckSorting(
                check_report=check,
                case=cases[place] if place < len(cases) else None,
                decision="case" if place < len(cases) else "advice",
                at=now,
                by=by,
            )
            for place, check in enumerate(checks[:-120])
        ],
        batch_size=2000,
    )


def letters_on_their_way(cases, by, now, today) -> None:
    """Half the cases had a letter; sixty are still on their way."""
    manager = kept.User.objects.create_user("manager", access="manager", first_name="Mo", last_name="Manager")
    adjustments = [
        kept.Adjustment(case=case, measures=["..."], start_on=today, review_on=today, at=now, by=by)
        for case in cases[::2]
    ]
    kept.Adjustment.objects.bulk_create(adjustments, batch_size=2000)
    letters = [
        kept.Letter(
            worker=adjustment.case.worker,
            adjustment=adjustment,
            recipient=manager,
            content={},
            content_hash="a",
            at=now,
            by=by,
        )
        for adjustment in adjustments
    ]
    kept.Letter.objects.bulk_create(letters, batch_size=2000)
    steps = []
    for place, letter in enumerate(letters):
        kinds = ["content_agreed", "offered", "seen", "consented", "released"]
        for kind in kinds[: place % 5] if place < 60 else kinds:
            named = manager if kind in ("consented", "released") else None
            steps.append(
                kept.LetterStep(
                    letter=letter, kind=kind, on=today, content_hash="a", recipient=named, at=now, by=by
                )
            )
    kept.LetterStep.objects.bulk_create(steps, batch_size=2000)


def old_looks(now: datetime) -> None:
    """Audit rows of the past, so that a new one joins a long table."""
    rows = [
        kept.AuditRow(
            at=now,
            who="asker",
            access="practitioner",
            event="record looked at",
            data_class="C1",
            worker_ref=f"w{place % WORKERS}",
            previous_hash=f"p{place}",
            hash=f"h{place}",
        )
        for place in range(200_000)
    ]
    kept.AuditRow.objects.bulk_create(rows, batch_size=2000)


if __name__ == "__main__":
    main()
