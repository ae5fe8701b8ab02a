"""How thickly to sow, sowings on record, and what this garden teaches."""
