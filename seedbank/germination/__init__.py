"""Germination tests: set, counted day by day, finished, and what they say."""
