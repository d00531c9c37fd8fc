"""The demo's five doors: one click signs in as one of five invented people, on this machine only."""

from dataclasses import dataclass

from django.conf import settings
from django.http import HttpRequest

LOOPBACK_HOSTS = frozenset({"localhost", "127.0.0.1", "[::1]"})
LOOPBACK_ADDRESSES = frozenset({"127.0.0.1", "::1", ""})  # empty: a local socket
FORWARDED = ("X-Forwarded-For", "X-Forwarded-Host", "Forwarded", "Via")


@dataclass(frozen=True, slots=True)
class Door:
    """One way into the demo."""

    who: str
    label: str
    sees: str

    @property
    def username(self) -> str:
        """The demo account behind the door."""
        return f"demo-{self.who}"


DOORS = (
    Door("practitioner", "Practitioner", "what waits today, every record but their own, the letters"),
    Door("clerk", "Clerk", "who works where, to send invitations; nothing clinical"),
    Door("manager", "Ward manager", "adjustments released for their own staff, never why"),
    Door("worker", "Worker with a case", "their own record, plan and letters, and who looked"),
    Door("administrator", "Administrator", "the staff list and the rules; nothing clinical"),
)


def doors_open(request: HttpRequest) -> tuple[Door, ...]:
    """The doors, in the demo and on this machine; elsewhere there are none.

    A forwarded request comes from this machine only in the last step, so it finds none either.
    """
    host = request.get_host()
    name = host if host.endswith("]") else host.rsplit(":", 1)[0]
    here = name in LOOPBACK_HOSTS and request.META.get("REMOTE_ADDR", "") in LOOPBACK_ADDRESSES
    forwarded = any(header in request.headers for header in FORWARDED)
    return DOORS if settings.DEMO and here and not forwarded else ()
