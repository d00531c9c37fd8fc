"""Addresses of formularies."""

from django.urls import path

from thenar.screens.formulary import asking, showing

urlpatterns = [
    path("formulary/", asking.formulary, name="formulary"),
    path("formulary/<slug:ref>/", showing.formulary_proposal, name="formulary_proposal"),
    path("formulary/<slug:ref>/supplies/", showing.formulary_supplies, name="formulary_supplies"),
]
