"""What the season asks: to do, days to come, lists to print."""
