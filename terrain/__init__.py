"""What the ground is: readers, units, triangulation, elevation and draped lines."""
