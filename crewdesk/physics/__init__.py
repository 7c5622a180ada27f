"""The science of the tyre in plain arrays; no files, no clock, no documents."""
