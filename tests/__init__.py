"""Tests, laid out as the pipeline is."""
