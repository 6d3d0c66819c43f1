"""What flows: pipe, friction, fittings, pump and the operating point."""
