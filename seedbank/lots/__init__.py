"""Seed lots: taken in, described, kept in places, and the ledger of their seed."""
