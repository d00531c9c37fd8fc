"""Addresses: for a manager: released adjustments, nothing else."""

from django.urls import path

from thenar.screens.team import views

urlpatterns = [
    path("team/", views.team, name="team"),
    path("team/letters/<slug:ref>/", views.team_letter, name="team_letter"),
    path("team/letters/<slug:ref>/letter.pdf", views.team_letter_pdf, name="team_letter_pdf"),
]
