"""What is dug: trench section, exact cut, pits, layers, spoil and fill."""
