"""The rules with their sources, and reading in a staff list."""
