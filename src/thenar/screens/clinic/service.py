"""The service that writes letters and plans, as this site has set it."""

from django.conf import settings

from thenar.documents.compose import service_contact
from thenar.documents.letters import Contact


def contact() -> Contact:
    """Who wrote, and how to reach them."""
    return service_contact(
        service=settings.OH_SERVICE,
        telephone=settings.OH_TELEPHONE,
        email=settings.OH_EMAIL,
        organisation=settings.SITE_NAME,
    )
