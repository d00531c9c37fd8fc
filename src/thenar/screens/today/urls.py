"""Addresses: what needs me now, and finding people."""

from django.urls import path

from thenar.screens.today import starting, today, workers

urlpatterns = [
    path("today/", today.today, name="today"),
    path("workers/", workers.workers, name="workers"),
    path("workers/<slug:ref>/", workers.worker, name="worker"),
    path("workers/<slug:ref>/invite/", starting.invite, name="invite"),
    path("workers/<slug:ref>/case/", starting.open_case, name="open_case"),
]
