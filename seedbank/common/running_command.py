"""Which command runs, told to those who enter what was changed."""

from contextvars import ContextVar

COMMAND = ContextVar("COMMAND", default="")
"""Its name without its arguments, which may hold a password."""
