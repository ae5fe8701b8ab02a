"""Backups, restoring, and proving a collection."""
