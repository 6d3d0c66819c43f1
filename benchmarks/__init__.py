"""Benchmarks: our times and memory as ratios to other ways of computing the same, measured in one run."""
