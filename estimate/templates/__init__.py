"""The files that a new site folder starts with."""
