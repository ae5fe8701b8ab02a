"""What the terminal can be asked and told of seed crops and sites."""
