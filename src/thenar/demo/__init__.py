"""Saltmere, an invented hospital: built from a seed, nobody in it is real."""
