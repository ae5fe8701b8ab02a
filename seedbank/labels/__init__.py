"""Labels of packets."""
