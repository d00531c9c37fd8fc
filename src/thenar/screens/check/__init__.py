"""A worker's own look at their hands, on a phone."""
