"""The sheets that go to work: quantities and cut sheet."""
