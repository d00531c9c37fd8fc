"""Addresses: what needs me now, and finding people."""

from django.urls import path

from thenar.screens.today import views

urlpatterns = [
    path("today/", views.today, name="today"),
    path("workers/", views.workers, name="workers"),
    path("workers/<slug:ref>/", views.worker, name="worker"),
    path("workers/<slug:ref>/invite/", views.invite, name="invite"),
    path("workers/<slug:ref>/case/", views.open_case, name="open_case"),
]
