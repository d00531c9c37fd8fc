"""Every address."""

from django.urls import include, path

urlpatterns = [path("", include("thenar.screens.urls"))]
