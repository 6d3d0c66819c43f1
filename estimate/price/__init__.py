"""What it costs: quantities, price book and the priced lines."""
