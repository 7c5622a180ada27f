"""The day book: what the crew entered, in order, never edited."""
