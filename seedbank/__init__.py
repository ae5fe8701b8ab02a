"""Seedbank: what a seed lot is worth, and what to do with it this season."""

__version__ = "0.1.0"
