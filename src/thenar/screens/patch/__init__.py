"""Patch tests, allergies and concerns, for the practitioner."""
