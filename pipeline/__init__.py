"""Testing-day reports: a folder of raw files in, a report for every athlete out."""

__version__ = "0.1.0"
