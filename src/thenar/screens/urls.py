"""Every page's address, place by place."""

from django.urls import include, path

urlpatterns = [
    path("", include("thenar.screens.front.urls")),
    path("", include("thenar.screens.today.urls")),
    path("", include("thenar.screens.check.urls")),
    path("", include("thenar.screens.clinic.urls")),
    path("", include("thenar.screens.workplace.urls")),
    path("", include("thenar.screens.patch.urls")),
    path("", include("thenar.screens.products.urls")),
    path("", include("thenar.screens.usable.urls")),
    path("", include("thenar.screens.formulary.urls")),
    path("", include("thenar.screens.team.urls")),
    path("", include("thenar.screens.mine.urls")),
    path("", include("thenar.screens.settings.urls")),
]
