"""Pure sums in SI floats and numpy arrays, one file a topic; takes numbers, never looks up a table."""
