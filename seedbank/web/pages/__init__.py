"""Pages for the potting bench: forms and answers over the service, for a phone and wet hands."""
