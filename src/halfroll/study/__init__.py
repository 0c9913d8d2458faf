"""What to change next: every dimension's effect on every figure, and estimates for what was not solved yet."""
