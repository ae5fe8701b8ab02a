"""What the terminal can be told of germination tests."""
