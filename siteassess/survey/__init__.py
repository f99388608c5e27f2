"""Desk survey of whole parks and cities from tree inventories."""
