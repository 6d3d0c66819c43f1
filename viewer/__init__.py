"""What is seen and typed: the command line, the pictures and the sheets."""
