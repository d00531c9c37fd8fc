"""Which row of an extract does each record become? Values in the order of the schema's columns."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date

from thenar.exchange.extract_keys import Keys
from thenar.exchange.extract_leave import LeaveRow
from thenar.population.extract_schema import TABLES
from thenar.records.days import day_of
from thenar.records.models import CheckSorting, SkinCheck
from thenar.records.queries.extract import ExtractReading

ExtractRow = tuple[object, ...]
# Youngest age of each band but the first. [years]
_BANDS = ((55, "55 and over"), (45, "45 to 54"), (35, "35 to 44"), (25, "25 to 34"))
_CODE = re.compile(r"[a-z][a-z0-9_]{0,39}")
_COUNTS_FROM = 5  # the columns of exposures after the session's own


def age_band(born_on: date | None, on: date) -> str:
    """Age on a day, in bands of ten years.

    Examples
    --------
    >>> age_band(date(1990, 5, 17), date(2025, 5, 16)), age_band(date(1990, 5, 17), date(2025, 5, 17))
    ('25 to 34', '35 to 44')
    >>> age_band(None, date(2025, 5, 16))
    'not known'
    """
    if born_on is None:
        return "not known"
    years = on.year - born_on.year - ((on.month, on.day) < (born_on.month, born_on.day))
    return next((band for youngest, band in _BANDS if years >= youngest), "under 25")


def _areas(records: ExtractReading, keys: Keys) -> Iterator[ExtractRow]:
    for area in records.areas():
        yield keys.of("area", area.pk), keys.of_any("area", area.parent_id)


def _posts(records: ExtractReading, keys: Keys) -> Iterator[ExtractRow]:
    for post in records.posts():
        yield (
            keys.of("post", post.pk),
            keys.of("worker", post.worker_id),
            keys.of("area", post.area_id),
            keys.of("role", post.role_id),
            post.from_on,
            post.until_on,
            round(post.hours_share * 100),
            age_band(post.worker.born_on, post.from_on),
        )


def _checks(records: ExtractReading, keys: Keys) -> Iterator[ExtractRow]:
    for check in records.checks():
        given_on, sorting = day_of(check.submitted_at), _sorting(check)
        yield (
            keys.of("check", check.pk),
            keys.of("worker", check.worker_id),
            given_on,
            check.given_by,
            check.urgency,
            check.patient_contact,
            sorting.decision if sorting else None,
            keys.of_any("case", sorting.case_id if sorting else None),
            age_band(check.worker.born_on, given_on),
        )


def _sorting(check: SkinCheck) -> CheckSorting | None:
    found: CheckSorting | None = getattr(check, "sorting", None)
    return found


def _answers(records: ExtractReading, keys: Keys) -> Iterator[ExtractRow]:
    """Answers that are codes of the questions; nothing that somebody typed has that form."""
    for check in records.checks():
        for question, answer in check.answers.items():
            if _CODE.fullmatch(question) and isinstance(answer, str) and _CODE.fullmatch(answer):
                yield keys.of("check", check.pk), question, answer


def _cases(records: ExtractReading, keys: Keys) -> Iterator[ExtractRow]:
    for case in records.cases():
        closing = getattr(case, "closing", None)
        yield (
            keys.of("case", case.pk),
            keys.of("worker", case.worker_id),
            case.opened_on,
            closing and closing.closed_on,
            closing and closing.outcome,
            keys.of_any("case", case.earlier_id),
            age_band(case.worker.born_on, case.opened_on),
        )


def _examinations(records: ExtractReading, keys: Keys) -> Iterator[ExtractRow]:
    for seen in records.examinations():
        yield (
            keys.of("examination", seen.pk),
            keys.of("case", seen.case_id),
            keys.of("worker", seen.case.worker_id),
            seen.examined_on,
            seen.total,
            seen.band,
            seen.hard_to_judge,
            seen.under_treatment,
            hasattr(seen, "corrected_by"),
        )


def _exposures(records: ExtractReading, keys: Keys) -> Iterator[ExtractRow]:
    for session in records.sessions():
        places = (keys.of("area", session.area_id), keys.of("role", session.role_id))
        counts = (session.counts.get(column.name) for column in TABLES["exposures"][_COUNTS_FROM:])
        yield keys.of("session", session.pk), *places, session.observed_on, session.shift_part, *counts


def _stock(records: ExtractReading, keys: Keys) -> Iterator[ExtractRow]:
    for stock in records.stock():
        product, area = keys.of("product", stock.product_id), keys.of("area", stock.area_id)
        yield product, stock.product.category, area, stock.from_on, stock.until_on


def _controls(records: ExtractReading, keys: Keys) -> Iterator[ExtractRow]:
    for control in records.controls():
        yield (
            keys.of("control", control.pk),
            keys.of("area", control.area_id),
            keys.of_any("role", control.role_id),
            control.control.get("kind"),
            control.hierarchy,
            control.start_on,
            control.review_on,
        )


_ROWS_OF: Mapping[str, Callable[[ExtractReading, Keys], Iterator[ExtractRow]]] = {
    "areas": _areas,
    "posts": _posts,
    "checks": _checks,
    "answers": _answers,
    "cases": _cases,
    "examinations": _examinations,
    "exposures": _exposures,
    "stock": _stock,
    "controls": _controls,
}


def rows_of(
    table: str, records: ExtractReading, keys: Keys, leave: Iterable[LeaveRow]
) -> Iterator[ExtractRow]:
    """The rows of one table. The records hold no leave: it is handed in, or there is none."""
    if table == "leave":
        return ((keys.of("worker", one.worker), one.from_on, one.until_on) for one in leave)
    return _ROWS_OF[table](records, keys)
