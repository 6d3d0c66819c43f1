"""What is dug, laid, filled, pumped and paid, worked out from the ground and a site folder."""
