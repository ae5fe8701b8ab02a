"""Answers put together of several rooms: finding lots, one variety, the last changes."""
