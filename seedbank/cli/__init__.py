"""What every command works on and prints with."""
