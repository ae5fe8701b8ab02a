"""Keep, test, save seed, rescue, replace or discard: every lot judged."""
