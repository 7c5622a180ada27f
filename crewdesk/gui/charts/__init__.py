"""Charts of the window; the only package that loads the plotting library."""
