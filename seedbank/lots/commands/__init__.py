"""What the terminal can be asked and told of lots."""
