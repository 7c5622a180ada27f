"""The tyre desk of a small rally service crew."""

__version__ = "0.1.0"
