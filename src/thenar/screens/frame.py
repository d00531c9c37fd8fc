"""What every page is framed with: who is signed in, their places, the edition, the demo band."""

from dataclasses import dataclass

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

from thenar.records.models import AccessRole, User
from thenar.records.rights import Act, may
from thenar.screens.book import book


@dataclass(frozen=True, slots=True)
class Place:
    """One link of the band at the top."""

    url: str
    label: str
    current: bool


_PLACES = (
    (Act.SEE_TODAY, "today", "Today"),
    (Act.SEE_IDENTITY, "workers", "Workers"),
    (Act.SEE_WORKPLACE, "areas", "Areas"),
    (Act.SEE_PRODUCTS, "products", "Products"),
    (Act.SEE_TEAM, "team", "Team"),
    (Act.SEE_OWN, "mine", "Mine"),
    (Act.IMPORT_STAFF, "staff_list", "Staff list"),
    (Act.SEE_RULES, "rules", "Rules"),
)


def frame(request: HttpRequest) -> dict[str, object]:
    """Context of every page."""
    user = getattr(request, "user", None)
    person = user if isinstance(user, User) else None
    return {
        "person": person,
        "places": places(person, request.path) if person else [],
        "demo": settings.DEMO,
        "site_name": settings.SITE_NAME,
        "oh_telephone": settings.OH_TELEPHONE,
        "emergency_telephone": settings.EMERGENCY_TELEPHONE,
        "knowledge_edition": book().edition,
    }


def places(person: User, path: str) -> list[Place]:
    """The places open to this person, in order of use."""
    own = hasattr(person, "worker")
    shown = []
    for act, name, label in _PLACES:
        if may(person, act) and (name != "mine" or own):
            url = reverse(name)
            shown.append(Place(url, label, path.startswith(url)))
    return shown


_FIRST_PAGES = {
    AccessRole.PRACTITIONER: "today",
    AccessRole.LEAD: "today",
    AccessRole.CLERK: "workers",
    AccessRole.MANAGER: "team",
    AccessRole.WORKER: "mine",
    AccessRole.ADMINISTRATOR: "staff_list",
}


def first_page(person: User) -> str:
    """The address of the page this person works from."""
    return reverse(_FIRST_PAGES.get(AccessRole(person.access), "rules"))
