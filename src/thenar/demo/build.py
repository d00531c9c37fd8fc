"""Builds Saltmere in one transaction, and tells whether a database holds a finished Saltmere."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from enum import Enum

from django.db import connection, transaction

from thenar.demo.chance import Chance
from thenar.demo.duties import write_task_lists
from thenar.demo.episodes import Episode
from thenar.demo.hospital import saltmere
from thenar.demo.measures import Assess, seed_measures
from thenar.demo.past import Past
from thenar.demo.patch_tests import seed_allergies
from thenar.demo.pen import Pen, moment
from thenar.demo.products import seed_products
from thenar.demo.staff import Hiring
from thenar.demo.stories import tell_stories
from thenar.demo.workplace import seed_workplace
from thenar.demo.years import Years
from thenar.errors import Conflict
from thenar.knowledge import Book
from thenar.records.models import AuditRow, Product, Worker

BUILT = "demo built"


class Holds(Enum):
    """What a database holds."""

    NOTHING = "nothing"
    SALTMERE = "a finished Saltmere"
    OTHER = "records that are not the demo's"


@dataclass(frozen=True, slots=True)
class Built:
    """How many rows of each kind were written."""

    counts: dict[str, int]
    areas: int


def build_saltmere(
    seed: int,
    today: date,
    book: Book,
    say: Callable[[str], None] = lambda _: None,
    assess: Assess | None = None,
) -> Built:
    """Write Saltmere, with three years behind it, as it stands on `today`; all of it or nothing.

    Parameters
    ----------
    seed
        The same seed and day give the same hospital, references included.
    today
        The day on which the walk through the demo begins.
    book
        The knowledge that sorts the checks and scores the hands.
    say
        Told of each stage.
    assess
        Says what the assessment of an area holds; without it none is kept.

    Raises
    ------
    Conflict
        Where the database already holds workers.
    """
    _refuse_others()
    pen = imagine_saltmere(seed, today, book, say, assess)
    say("Writing it down ...")
    with transaction.atomic():
        _refuse_others()
        pen.write()
    counts = pen.counts() | {model.__name__: model._default_manager.count() for model in (AuditRow, Product)}
    return Built(counts, len(saltmere().places))


def imagine_saltmere(
    seed: int,
    today: date,
    book: Book,
    say: Callable[[str], None] = lambda _: None,
    assess: Assess | None = None,
) -> Pen:
    """The whole hospital in memory, nothing written yet, nothing done yet."""
    pen = Pen(Chance(seed, "refs"))
    say("Hiring 2,400 people ...")
    staff = Hiring(pen, seed, today).everyone()
    past = Past(pen, staff, book, today)
    say("Living through three years ...")
    episodes: list[Episode] = []
    told = staff.accounts["demo-worker"]
    places = list({member.place.name: None for member in staff.members})
    for number, member in enumerate(staff.members):
        if member.worker.user is not told:
            turn = places.index(member.place.name)
            episodes += Years(past, Chance(seed, "years", number), member, turn).write()
    tell_stories(past, seed, episodes)
    seed_workplace(pen, staff, seed, today, book)
    write_task_lists(pen, staff, today)
    shelves = seed_products(pen, staff, today, book)
    seed_allergies(shelves, staff, seed)
    seed_measures(pen, staff, today, book.edition, assess)
    admin = staff.accounts["demo-administrator"]
    pen.note(BUILT, by=admin, at=moment(today, 0, 5), data_class="C7", why=f"seed {seed}, for {today}")
    return pen


def what_is_there() -> Holds:
    """What the database at hand holds; a build that was cut short has left nothing."""
    if Worker._meta.db_table not in connection.introspection.table_names():
        return Holds.NOTHING
    if AuditRow.objects.filter(event=BUILT).exists():
        return Holds.SALTMERE
    return Holds.OTHER if Worker.objects.exists() else Holds.NOTHING


def built_note() -> str:
    """From which seed the Saltmere at hand was built, and for which day."""
    return AuditRow.objects.filter(event=BUILT).values_list("why", flat=True)[0]


def _refuse_others() -> None:
    if Worker.objects.exists():
        raise Conflict(
            what="This database already holds workers.",
            why="Invented people must never stand among real ones.",
            todo="Choose an empty data folder for the demo with THENAR_DATA.",
        )
