"""The group's append-only store of approved places and care."""
