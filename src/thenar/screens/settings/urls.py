"""Addresses: the rules with their sources, and reading in a staff list."""

from django.urls import path

from thenar.screens.settings import views

urlpatterns = [
    path("rules/", views.rules, name="rules"),
    path("rules/<path:key>/", views.rule, name="rule"),
    path("staff-list/", views.staff_list, name="staff_list"),
    path("staff-list/<slug:ref>/", views.staff_list_changes, name="staff_list_changes"),
]
