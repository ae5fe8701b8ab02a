"""The command line."""

from seedbank.cli.main import app

__all__ = ["app"]
