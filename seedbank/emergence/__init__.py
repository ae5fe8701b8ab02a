"""Sowings, and what came up of them."""
