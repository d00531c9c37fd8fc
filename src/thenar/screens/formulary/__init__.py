"""Formulary: which products for some areas, what they cost, whom they serve, and what to look for."""
