"""What a crew does with the program, without a window: load, enter, ask, fit, hand over."""
