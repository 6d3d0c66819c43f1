"""How high the pipe lies: invert, low and high points, structures, what stays full, drains."""
