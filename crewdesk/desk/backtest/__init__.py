"""Simulated days whose truth nobody at the desk knows, to see what a call is worth."""
