"""The numbers of the trade as CSV: one row, one source."""
