"""The group's page: who may do what, and the web application over one register."""
