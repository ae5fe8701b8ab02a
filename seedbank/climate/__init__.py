"""The garden's climate, and what it makes of the year: when to sow, flower, harvest seed."""
