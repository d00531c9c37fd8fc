"""Addresses: checks, cases, examinations, plans, adjustments, letters and reviews, for the practitioner."""

from django.urls import path

from thenar.screens.clinic import views

urlpatterns = [
    path("checks/<slug:ref>/", views.check_report, name="check_report"),
    path("cases/<slug:ref>/", views.case, name="case"),
    path("cases/<slug:ref>/examine/", views.examine, name="examine"),
    path("cases/<slug:ref>/score/", views.score, name="score"),
    path("cases/<slug:ref>/plan/", views.plan_new, name="plan_new"),
    path("cases/<slug:ref>/adjustment/", views.adjustment_new, name="adjustment_new"),
    path("cases/<slug:ref>/review/", views.review_new, name="review_new"),
    path("cases/<slug:ref>/close/", views.close_case, name="close_case"),
    path("examinations/<slug:ref>/", views.examination, name="examination"),
    path("examinations/<slug:ref>/correct/", views.correct, name="correct"),
    path("plans/<slug:ref>/", views.plan, name="plan"),
    path("plans/<slug:ref>/plan.pdf", views.plan_pdf, name="plan_pdf"),
    path("letters/<slug:ref>/", views.letter, name="letter"),
    path("letters/<slug:ref>/letter.pdf", views.letter_pdf, name="letter_pdf"),
    path("reviews/<slug:ref>/", views.review, name="review"),
]
