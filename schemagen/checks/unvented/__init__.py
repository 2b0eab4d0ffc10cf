"""Safety of hot water stored under mains pressure."""
