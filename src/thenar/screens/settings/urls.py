"""Addresses: the rules with their sources, and reading in a staff list."""

from django.urls import path

from thenar.screens.settings import rules, staff_list

urlpatterns = [
    path("rules/", rules.rules, name="rules"),
    path("rules/sources/", rules.sources, name="sources"),
    path("rules/<path:key>/", rules.rule, name="rule"),
    path("staff-list/", staff_list.staff_list, name="staff_list"),
    path("staff-list/<slug:ref>/", staff_list.staff_list_changes, name="staff_list_changes"),
]
