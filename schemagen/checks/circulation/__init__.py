"""Whether water finds its way round: returns, drivers, directions."""
