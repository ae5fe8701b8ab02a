"""Who is let in, and who changed what."""
