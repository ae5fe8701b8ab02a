"""Sow as usual or thicker, test, grow for seed, get fresh or let go: every lot judged."""
