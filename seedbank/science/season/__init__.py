"""The time of year: a garden's climate, what may be sown when, when it flowers and ripens."""
