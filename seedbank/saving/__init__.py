"""Saving seed: sites, what flowers and crosses, seed crops, seed parents and drift."""
