"""The call: which tyre on which corner, now and for every later loop."""
