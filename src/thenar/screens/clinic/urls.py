"""Addresses: checks, cases, examinations, plans, adjustments, letters and reviews, for the practitioner."""

from django.urls import path

from thenar.screens.clinic import cases, checks, examinations, letters, plans, reviews

urlpatterns = [
    path("checks/<slug:ref>/", checks.check_report, name="check_report"),
    path("cases/<slug:ref>/", cases.case, name="case"),
    path("cases/<slug:ref>/examine/", examinations.examine, name="examine"),
    path("cases/<slug:ref>/score/", examinations.score, name="score"),
    path("cases/<slug:ref>/plan/", plans.plan_new, name="plan_new"),
    path("cases/<slug:ref>/adjustment/", letters.adjustment_new, name="adjustment_new"),
    path("cases/<slug:ref>/review/", reviews.review_new, name="review_new"),
    path("cases/<slug:ref>/close/", cases.close_case, name="close_case"),
    path("examinations/<slug:ref>/", examinations.examination, name="examination"),
    path("examinations/<slug:ref>/correct/", examinations.correct, name="correct"),
    path("plans/<slug:ref>/", plans.plan, name="plan"),
    path("plans/<slug:ref>/plan.pdf", plans.plan_pdf, name="plan_pdf"),
    path("letters/<slug:ref>/", letters.letter, name="letter"),
    path("letters/<slug:ref>/letter.pdf", letters.letter_pdf, name="letter_pdf"),
    path("reviews/<slug:ref>/", reviews.review, name="review"),
]
