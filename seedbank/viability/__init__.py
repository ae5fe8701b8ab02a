"""How alive each lot is, on any day: its storage, its tests and its kind together."""
