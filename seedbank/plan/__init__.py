"""The saving plan: which varieties to grow for seed this year and in the years after."""
