"""Where the pipe goes in plan: way points, stations, bends and their fittings."""
