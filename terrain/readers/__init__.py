"""Readers of survey files, one file a format, each returning one type."""
