"""The parts of the page for a browser: its picture, its words, its data, its look and what it does."""
