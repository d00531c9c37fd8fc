"""Fills a fresh database with the small hospital of the tests, its people reachable through the demo's doors.

Run as a program, with the settings of the server it is for: python -m tests.browser.small_house
"""

from datetime import date


def build() -> None:
    """The five people of the demo, and a colleague of the worker on her ward and on the next."""
    from tests.conftest import make_area, make_user, make_worker
    from thenar.records.models import AccessRole, AreaManager, Role

    hospital = make_area("The hospital")
    ward_1, ward_2 = make_area("Ward 1", hospital), make_area("Ward 2", hospital)
    nurse = Role.objects.create(name="Nurse")
    wanda = make_worker("Wanda", "1001", ward_1, nurse, family="Winter")
    make_worker("Yusuf", "1002", ward_2, nurse, family="Yildiz")
    make_worker("Bo", "1003", ward_1, nurse, family="Berg")
    assert wanda.user is not None
    wanda.user.username = "demo-worker"
    wanda.user.save()
    for name, access in [
        ("Alice", AccessRole.PRACTITIONER),
        ("Clara", AccessRole.CLERK),
        ("Mona", AccessRole.MANAGER),
        ("Ada", AccessRole.ADMINISTRATOR),
    ]:
        user = make_user(name, access)
        user.username = f"demo-{access.value}"
        user.save()
        if access is AccessRole.MANAGER:
            AreaManager.objects.create(user=user, area=ward_1, from_on=date(2020, 1, 1))


if __name__ == "__main__":
    import django

    django.setup()
    build()
