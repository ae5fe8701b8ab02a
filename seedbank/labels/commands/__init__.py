"""What the terminal can be asked of labels."""
