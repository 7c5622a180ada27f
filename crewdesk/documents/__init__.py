"""What was planned: the files of an event, checked once and frozen."""
