"""Crop kinds and varieties: what is grown here, and what is known of it."""
