"""What was seen on site: the record, its reading, its checks, its writing."""
