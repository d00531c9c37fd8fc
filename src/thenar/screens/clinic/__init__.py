"""Checks, cases, examinations, plans, adjustments, letters and reviews, for the practitioner."""
