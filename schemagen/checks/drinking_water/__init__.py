"""Protection and hygiene of drinking water."""
