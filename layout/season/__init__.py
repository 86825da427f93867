"""The book told back: trends, refit, next rung, sums, plots."""
