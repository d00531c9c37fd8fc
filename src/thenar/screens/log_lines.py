"""Log lines that name pages and places in the code, never people: no address, no form, no error message.

An address may hold the secret of a check link, and a database's message may quote a staff number.
"""

import logging
import traceback
from copy import copy
from types import TracebackType

from django.http import HttpRequest

ExcInfo = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]


class PlainLines(logging.Formatter):
    """A formatter that keeps what a person could be known by out of the log."""

    def format(self, record: logging.LogRecord) -> str:
        """One line; for a request, its method, the pattern of its address, and its status."""
        plain = copy(record)
        plain.exc_text = plain.stack_info = None
        request = getattr(record, "request", None)
        if isinstance(request, HttpRequest):
            status = getattr(record, "status_code", "")
            plain.msg, plain.args = f"{status} {request.method} {page_of(request)}", ()
        return super().format(plain)

    def formatException(self, ei: ExcInfo) -> str:  # noqa: N802  (the name logging calls)
        """Kinds of error and where they arose, without what they say."""
        return "\n".join(_kinds_and_places(ei[1]))


def page_of(request: HttpRequest) -> str:
    """The pattern of a page's address, without what stands in it.

    Examples
    --------
    >>> page_of(HttpRequest())
    'no such page'
    """
    return request.resolver_match.route if request.resolver_match else "no such page"


def _kinds_and_places(problem: BaseException | None) -> list[str]:
    lines: list[str] = []
    while problem is not None:
        frames = traceback.extract_tb(problem.__traceback__)
        places = [f"  {frame.filename}:{frame.lineno} in {frame.name}" for frame in frames]
        lines = [type(problem).__qualname__, *places, *lines]
        problem = problem.__cause__ or problem.__context__
    return lines
