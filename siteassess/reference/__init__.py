"""The one way to the tables in data/, each row with its source."""
