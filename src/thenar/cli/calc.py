"""`thenar calc`: a door from the command line to each computation, JSON in and JSON out."""

import json
import sys
from typing import Any

import click
from pydantic import TypeAdapter

from thenar.cli import Lazy
from thenar.cli.book import book, this_day
from thenar.cli.doors import Door
from thenar.cli.reading import read_given
from thenar.errors import BadInput

DOORS = {
    "capture-recapture": Lazy(
        "thenar.cli.doors.capture_recapture:DOOR",
        "Estimate how many have hand trouble that two sources miss.",
    ),
    "controls": Lazy(
        "thenar.cli.doors.controls:DOOR", "Compare changes to the work, above the infection-control floor."
    ),
    "cusum": Lazy("thenar.cli.doors.cusum:DOOR", "Watch for a rise with a stated rate of false alarms."),
    "declaration": Lazy(
        "thenar.cli.doors.declaration:DOOR", "Read a label: ingredients, allergens named, what was not read."
    ),
    "direct-standardisation": Lazy(
        "thenar.cli.doors.direct_standardisation:DOOR", "Standardise a rate to another mix of staff."
    ),
    "disclosure": Lazy(
        "thenar.cli.doors.disclosure:DOOR",
        "Choose the cells of a table to hide before it leaves the service.",
    ),
    "duty": Lazy("thenar.cli.doors.duty:DOOR", "Find duties within limits, or what must give way."),
    "empirical-bayes": Lazy(
        "thenar.cli.doors.empirical_bayes:DOOR", "Steady small areas' figures; places as ranges only."
    ),
    "evaluation": Lazy("thenar.cli.doors.evaluation:DOOR", "Say what a control or a programme did."),
    "ewma": Lazy("thenar.cli.doors.ewma:DOOR", "Follow a measurement by its running average."),
    "formulary": Lazy(
        "thenar.cli.doors.formulary:DOOR", "Find the cheapest or fewest products that serve everyone."
    ),
    "funnel": Lazy("thenar.cli.doors.funnel:DOOR", "Hold areas against what chance allows."),
    "gloves": Lazy("thenar.cli.doors.gloves:DOOR", "Compare gloves for a task, the best fit first."),
    "multiple-testing": Lazy("thenar.cli.doors.multiple_testing:DOOR", "Judge many tests together."),
    "p-u-charts": Lazy("thenar.cli.doors.p_u_charts:DOOR", "Chart shares or rates, period by period."),
    "paf-gif": Lazy("thenar.cli.doors.paf_gif:DOOR", "Say what share of cases goes with an exposure."),
    "patch-test-quality": Lazy(
        "thenar.cli.doors.patch_test_quality:DOOR", "Judge patch-test preparations and describe the clinic."
    ),
    "poisson-rate-intervals": Lazy(
        "thenar.cli.doors.poisson_rate_intervals:DOOR",
        "Say how many new cases for the time at risk, and how sure.",
    ),
    "proportion-intervals": Lazy(
        "thenar.cli.doors.proportion_intervals:DOOR", "Say what share has hand trouble, and how sure."
    ),
    "rare-event-charts": Lazy(
        "thenar.cli.doors.rare_event_charts:DOOR", "Chart the gaps between rare cases."
    ),
    "rate-ratio": Lazy("thenar.cli.doors.rate_ratio:DOOR", "Compare two rates of new cases."),
    "rates": Lazy("thenar.cli.doors.rates:DOOR", "Say what a shift brings, from watching, and how sure."),
    "relapse": Lazy("thenar.cli.doors.relapse:DOOR", "Say how often hand trouble comes back."),
    "rogan-gladen": Lazy(
        "thenar.cli.doors.rogan_gladen:DOOR", "Correct self-reports for how often they are right."
    ),
    "scan": Lazy("thenar.cli.doors.scan:DOOR", "Find where, since when and after what product cases gather."),
    "severity": Lazy("thenar.cli.doors.severity:DOOR", "Score the signs on both hands and name the band."),
    "severity-change": Lazy("thenar.cli.doors.severity_change:DOOR", "Judge a change between two scores."),
    "shift": Lazy("thenar.cli.doors.shift:DOOR", "Count what a shift does to hands, from events or a tally."),
    "smr-sir": Lazy("thenar.cli.doors.smr_sir:DOOR", "Set cases seen against cases expected."),
    "time-to-clear": Lazy("thenar.cli.doors.time_to_clear:DOOR", "Say how long cases take to clear."),
    "triage": Lazy("thenar.cli.doors.triage:DOOR", "Sort the answers of a skin check, with reasons."),
    "trial-planner": Lazy(
        "thenar.cli.doors.trial_planner:DOOR", "Plan a trial that gives a change to wards by lot."
    ),
    "verdict": Lazy(
        "thenar.cli.doors.verdict:DOOR", "Judge products by one person's allergies, with reasons."
    ),
    "wet-work": Lazy("thenar.cli.doors.wet_work:DOOR", "Judge a shift under every wet-work rule set."),
}


@click.command()
@click.argument("name", required=False)
@click.option("--list", "list_all", is_flag=True, help="Name every computation.")
@click.option("--schema", is_flag=True, help="Print what NAME takes and gives, as JSON schemas.")
def calc(name: str | None, list_all: bool, schema: bool) -> None:
    """Compute NAME from JSON on standard input and print JSON."""
    if list_all:
        _list_doors()
    elif schema:
        click.echo(_json(_schemas(_door(name))))
    else:
        click.echo(_answer(_door(name)))


def _list_doors() -> None:
    widest = max(map(len, DOORS))
    for name, door in DOORS.items():
        click.echo(f"{name:<{widest}}  {door.does}")


def _door(name: str | None) -> Door[Any, Any]:
    if name not in DOORS:
        raise BadInput(
            what=f"There is no computation {name!r}." if name else "No computation was named.",
            why="Nothing was computed.",
            todo=f"Name one of: {', '.join(DOORS)}.",
        )
    door: Door[Any, Any] = DOORS[name].load()
    return door


def _schemas(door: Door[Any, Any]) -> dict[str, Any]:
    given = TypeAdapter(door.given).json_schema()
    answer = TypeAdapter(door.answer).json_schema(mode="serialization")
    return {"input": door.explain(given, book()), "output": answer}


def _answer(door: Door[Any, Any]) -> str:
    given = read_given(_standard_input(), door.given, door.name)
    answer = door.compute(given, book(), this_day())
    return TypeAdapter(door.answer).dump_json(answer, indent=2).decode()


def _standard_input() -> bytes:
    if sys.stdin.isatty():
        return b""
    return sys.stdin.buffer.read()


def _json(content: dict[str, Any]) -> str:
    return json.dumps(content, indent=2, ensure_ascii=False)
