"""What every room uses: forms, answers, faults and days."""
